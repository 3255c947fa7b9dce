"""What is a picture that a browser shows and nothing else: told by its first bytes."""

MOST_ZOOM = 22  # a tile of it is ten metres wide
MOST_BYTES = 4 << 20  # of a tile: a large one of 512 × 512 points has a tenth of it


def picture_kind(content: bytes) -> str | None:
    """Return a picture's media type; None for anything else, such as a page, a drawing or vector data.

    Examples
    --------
    >>> picture_kind(bytes.fromhex("ffd8ffe0")), picture_kind(b"<svg onload=alert(1)>")
    ('image/jpeg', None)
    """
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if content.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if content.startswith(b"RIFF") and content[8:12] == b"WEBP":
        return "image/webp"
    return None
