"""Make the pictures of the README anew from the code as it is: ``python examples/pictures.py``.

Wants ``pdftoppm`` and ``chromium``. Beside the pictures it writes what each was made from, as a digest; a test holds
these against the code and says when the pictures are old.
"""

import hashlib
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from flatgen.drawings import enclosures, subjects
from flatgen.jobs.loading import load
from flatgen.jobs.make import compute
from flatgen.model.results import Results
from flatgen.output.folder import written_folder
from flatgen.page.packet import Enclosure
from flatgen.write.packet import write_packet
from flatgen.write.page import as_text as page_text
from flatgen.write.svg import as_text as svg_text

ROOT = Path(__file__).resolve().parent.parent
JOB = ROOT / "examples" / "first-clips" / "job.toml"
PICTURES = ROOT / "out" / "pictures"
SOURCES = "sources.json"
# picture: file of the packet without its ending, page, width [px]
DRAWN = {"card": ("cards", 1, 900), "setting": ("setup", 2, 900), "sheet": ("nests/*", 1, 900)}
SCREENS = {"page-desktop": (1280, 900), "page-phone": (390, 844)}


def sources(results: Results, drawn: tuple[Enclosure, ...]) -> dict[str, str]:
    """For each picture the digest of what it shows."""
    found = {}
    for name, (file, page, _) in DRAWN.items():
        enclosure = next(e for e in drawn if "pdf" in e.formats and Path(e.name).match(file))
        found[name] = svg_text(enclosure.drawings[page - 1])
    found |= dict.fromkeys(SCREENS, page_text(results, drawn, subjects(results)))
    return {name: hashlib.sha256(text.encode()).hexdigest() for name, text in found.items()}


def main() -> None:
    """Make the packet of the first job, and picture it."""
    results = compute(load(JOB))
    drawn = enclosures(results)
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        packet = Path(scratch) / "packet"
        with written_folder(packet, "make", inputs=(), gone=lambda name: True) as folder:
            write_packet(results, drawn, subjects(results), folder)
        for name, (file, page, wide) in DRAWN.items():
            pdf = next(packet.glob(f"{file}.pdf"))
            size = ("-scale-to-x", str(wide), "-scale-to-y", "-1")
            ends = ("-f", str(page), "-l", str(page), "-singlefile", "-png")
            subprocess.run(["pdftoppm", *ends, *size, str(pdf), str(PICTURES / name)], check=True)
        browser = shutil.which("chromium") or sys.exit("no chromium: the pictures of the page are not made")
        for name, (wide, tall) in SCREENS.items():
            subprocess.run(
                [
                    *(browser, "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"),
                    f"--user-data-dir={scratch}/{name}",
                    f"--window-size={wide},{tall}",
                    f"--screenshot={PICTURES / name}.png",
                    (packet / "index.html").as_uri(),
                ],
                check=True,
                capture_output=True,
            )
    text = json.dumps(sources(results, drawn), indent=1) + "\n"
    (PICTURES / SOURCES).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
