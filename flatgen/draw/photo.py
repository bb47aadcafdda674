"""A photograph as a drawing, for the log: turned as it was taken, no larger than a page can show. Lengths mm."""

import io

from flatgen.page.drawing import Drawing, Raster
from flatgen.page.layers import used

PIXELS = 1600  # of the longer side: 250 to an inch on half a page
WIDE, TALL = 120.0, 90.0  # that it may take


def photograph(data: bytes) -> Drawing | None:
    """A photograph; None where its format cannot be shown (HEIC)."""
    from PIL import Image, ImageOps

    try:
        with Image.open(io.BytesIO(data)) as opened:
            opened.draft("RGB", (PIXELS, PIXELS))
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    upright.thumbnail((PIXELS, PIXELS))
    held = io.BytesIO()
    upright.save(held, "JPEG", quality=80)
    scale = min(WIDE / upright.width, TALL / upright.height)
    size = (upright.width * scale, upright.height * scale)
    items = (Raster("note", (0.0, 0.0), size, held.getvalue()),)
    return Drawing("photograph", size, items, used(items))
