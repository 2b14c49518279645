"""The screens at the scope; they know the planner, the planner never knows them."""
