"""Who forgets which step, and what to drill next: recall in free words, judged by states.

Knows the script's plan, the trade's words, the rule book and the journal's shape; knows no
truck, no microphone, no disk and no clock: what the truck shows and what the time is are
handed in.  Never says that a vehicle is fit to drive.
"""
