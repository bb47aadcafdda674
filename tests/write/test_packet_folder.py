"""The files of a packet: their names, and that a second run makes the same."""

from flatgen.drawings import file_name


def test_file_names_are_safe() -> None:
    """No path separators, no hidden names, and two part numbers never share a file."""
    names = [file_name(name) for name in ("TF-101", "a/b", "a_b", "..", "/../x", "")]
    assert names[0] == "TF-101" and len(set(names)) == len(names)
    assert all(name and "/" not in name and not name.startswith(".") for name in names)
