"""What a folder holds, to the last bit and attribute, so that two looks at it can be compared."""

import os
import stat
from pathlib import Path


def snapshot(folder: Path) -> dict[str, tuple[object, ...]]:
    """For the folder and all below: mode, owner, names, time of change, and content or where a link leads."""
    found = {}
    for path in [folder, *sorted(folder.rglob("*"))]:
        about = path.lstat()
        content: object = ""
        if path.is_symlink():
            content = path.readlink()
        elif stat.S_ISREG(about.st_mode):
            content = path.read_bytes()
        owner = (about.st_uid, about.st_gid, about.st_ino, about.st_nlink)
        found[path.relative_to(folder).as_posix()] = (about.st_mode, *owner, about.st_mtime_ns, content)
    return found


def somebody_elses(folder: Path) -> Path:
    """A folder with files of every kind: modes, links, hard links, a pipe, an empty folder, files of our names."""
    for name in ("blanks", "empty", "deep/er"):
        (folder / name).mkdir(parents=True)
    for name in ("index.html", "results.json", "setup.pdf", "cut-list.csv", "blanks/TF-101.dxf", "deep/er/notes.txt"):
        (folder / name).write_text(f"mine: {name}")
    (folder / "setup.pdf").chmod(0o640)
    (folder / "cut-list.csv").chmod(0o444)
    (folder / "empty").chmod(0o750)
    os.link(folder / "index.html", folder / "deep" / "second-name.html")
    (folder / "packet.pdf").symlink_to(folder / "deep" / "er" / "notes.txt")
    (folder / "nests").symlink_to(folder / "deep")
    (folder / "lost").symlink_to("nowhere")
    os.mkfifo(folder / "templates.pdf")
    if os.geteuid() == 0:
        os.chown(folder / "results.json", 1234, 2345)
    return folder
