"""Scale factors and statistical factors. No limit of any rule stands in this room."""

from __future__ import annotations

from decimal import Decimal

MS_PER_S = 1000
US_PER_S = 1000000
RECTANGLE = 12  # variance of a value read to a step: step² / 12 (JCGM 100:2008, 4.3.7)
HALF_RECTANGLE = 3  # variance inside ± a: a² / 3 (same)
COVERAGE = Decimal(2)  # U = 2 u, about 95 % (JCGM 100:2008, 6.2.1)
FAR_OFF = 3  # a point this many standard deviations off a line is not on it
FEWEST_FOR_A_LINE = 3  # points; with two there is nothing to compare
FEWEST_WITH_AN_OUTLIER = 5  # points; with fewer, which one is wrong cannot be told
DIGITS_SHOWN = 2  # of an uncertainty (JCGM 100:2008, 7.2.6)
BENT = 3  # a bend this many of its standard deviations is one
FEWEST_FOR_A_BEND = 4  # points; through three of them every bend goes
ROUNDS = 3  # of weighting a bend anew by its own pace
SEARCHED = 0.995  # a bend is searched up to levelling off this close above the last call
QUICKEST = 10  # and down to a climb that quickens elevenfold
SEARCH_STEPS = 60  # halvings, near enough, of that range
GOLDEN = 5  # the golden section's square
SMALL_BEND = 1e-4  # below it the bend's formula is taken by its series
LEAKY = 3  # times the last call: a tight compressor levels off higher; common practice, no source
