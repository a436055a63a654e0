"""A truck, a driver and a clock that jumps. Product code; never uses air or rules."""
