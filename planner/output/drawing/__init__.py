"""The field of view drawn to scale, and the curves of a night: drawings that know no screen."""
