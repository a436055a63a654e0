"""The curve of RFC 8032 section 5.1 in a few lines: slow, and used to check tables only."""

from __future__ import annotations

FIELD = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
_D = -121665 * pow(121666, FIELD - 2, FIELD) % FIELD
_ROOT = pow(2, (FIELD - 1) // 4, FIELD)  # of -1

Point = tuple[int, int]


def add(one: Point, other: Point) -> Point:
    """RFC 8032 section 5.1.4, in affine coordinates."""
    (x1, y1), (x2, y2) = one, other
    both = _D * x1 * x2 * y1 * y2 % FIELD
    x = (x1 * y2 + x2 * y1) * pow(1 + both, FIELD - 2, FIELD) % FIELD
    y = (y1 * y2 + x1 * x2) * pow(1 - both, FIELD - 2, FIELD) % FIELD
    return x, y


def times(number: int, point: Point) -> Point:
    total: Point = (0, 1)
    while number:
        if number & 1:
            total = add(total, point)
        point, number = add(point, point), number >> 1
    return total


def with_y(y: int) -> Point | None:
    """A point of that second coordinate, or None (RFC 8032 section 5.1.3)."""
    square = (y * y - 1) * pow(_D * y * y + 1, FIELD - 2, FIELD) % FIELD
    x = pow(square, (FIELD + 3) // 8, FIELD)
    if x * x % FIELD != square:
        x = x * _ROOT % FIELD
    return (x, y) if x * x % FIELD == square else None


def small_order() -> frozenset[int]:
    """Second coordinates of the eight points whose order divides eight."""
    found: set[int] = set()
    y = 2
    while len(found) < 5:
        point = with_y(y)
        multiple = times(ORDER, point) if point else (0, 1)
        found |= {times(n, multiple)[1] for n in range(8)}
        y += 1
    return frozenset(found)
