"""What gauges mean: readings in, measures out. Knows physics; never a limit, a place or a clock."""
