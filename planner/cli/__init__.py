"""Commands and options. A command reads what was asked, calls one function below, and delivers its answer."""
