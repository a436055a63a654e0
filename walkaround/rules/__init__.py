"""Cited limits: load them, judge a measure by one. Never holds a number of its own."""
