"""A hands-free, voice-prompted air-brake check that ends in a signed record.

The rooms and what each may know are described in DEVELOPERS.md.
"""

__version__ = "0.1.0"
