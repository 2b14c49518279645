"""The screens at the scope, without content so far: they know the planner, it never them."""
