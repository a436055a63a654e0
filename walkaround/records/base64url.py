"""base64url without padding (RFC 7515 section 2), in its one form only."""

from __future__ import annotations

import base64
import binascii


def to_text(content: bytes) -> str:
    """The unpadded text."""
    return base64.urlsafe_b64encode(content).rstrip(b"=").decode("ascii")


def from_text(text: str | bytes) -> bytes:
    """The bytes. Raises ValueError for padding, white space, other letters or spare bits set.

    Four letters carry three bytes; a last group of two or three has bits to spare, and
    RFC 4648 section 3.5 lets a decoder insist that they are zero: this one does.
    """
    raw = text.encode("ascii", "replace") if isinstance(text, str) else bytes(text)
    try:
        content = base64.b64decode(raw + b"=" * (-len(raw) % 4), altchars=b"-_", validate=True)
    except binascii.Error:
        raise ValueError("it is not base64url text") from None
    if base64.urlsafe_b64encode(content).rstrip(b"=") != raw:
        raise ValueError("it is not base64url in its one form (padding or spare bits)")
    return content
