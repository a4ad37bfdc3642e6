"""Scripts that put a whole site under load, run by hand: they take minutes, and a test asserts no times."""
