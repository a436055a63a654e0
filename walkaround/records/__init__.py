"""Journal, summary, signature, verification: bytes in, bytes out. Never opens a file."""
