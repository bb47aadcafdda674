"""Every example in the help of every command runs as it stands there."""

import json
import shlex
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from making import shared

from flatgen.cli import flatgen
from flatgen.records.book import open_book

VERBS = (
    "cut",
    "drilled",
    "bent",
    "reject",
    "good",
    "concede",
    "undo",
    "enter",
    "use",
    "rework",
    "take",
    "labels",
    "photo",
    "show",
)
# what an example finds done when it is run: the same order as in a shop
ORDER = (
    "make",
    "nest",
    "coupon record",
    "coupon",
    "inspect record",
    "inspect",
    *(
        f"tally {verb}"
        for verb in [
            "cut",
            "drilled",
            "bent",
            "reject",
            "good",
            "concede",
            "enter",
            "undo",
            "use",
            "rework",
            "take",
            "show",
        ]
    ),
    "tally photo",
    "tally",
    "stock add",
    "stock book",
    "stock labels",
    "stock trace",
)


def commands(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[str, click.Command]]:
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            inner = command.get_command(context, name)
            assert inner is not None
            yield from commands(inner, (*path, name))
    else:
        yield " ".join(path), command


def examples(command: click.Command) -> list[str]:
    text = (command.help or "").replace("\b", "").replace("\\\n", " ")
    return [" ".join(line.split()) for line in text.splitlines() if line.strip().startswith("flatgen ")]


def rank(name: str) -> int:
    found = [k for k, start in enumerate(ORDER) if name == start or name.startswith(f"{start} ")]
    return found[0] if found else len(ORDER) if name.startswith("stock") else -1


COMMANDS = dict(commands(flatgen))
EXAMPLES = [(name, line) for name in sorted(COMMANDS, key=rank) for line in examples(COMMANDS[name])]


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_shows_an_example_and_explains_its_options(name: str) -> None:
    command = COMMANDS[name]
    assert examples(command), name
    assert [] == [o.name for o in command.params if isinstance(o, click.Option) and not o.help]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Path:
    """A folder with the examples, and what the reader of the help would have of his own."""
    folder = tmp_path_factory.mktemp("reader")
    shutil.copytree(root / "examples", folder / "examples", ignore=shutil.ignore_patterns("*.sqlite*"))
    text = (folder / "examples" / "float-fittings" / "shop.toml").read_text(encoding="utf-8")
    book = 'book = "examples/float-fittings/shop-book.sqlite"\n'
    (folder / "shop.toml").write_text(book + text, encoding="utf-8")
    (folder / "made.csv").write_text("blank,leg_a,leg_b\n1.631,1.002,0.751\n1.630,1.001,0.750\n", encoding="utf-8")
    (folder / "crack.jpg").write_bytes(b"\xff\xd8\xff\xe0 a crack")
    return folder


def ticked_in(results: Path, file: Path) -> None:
    """What the page of a packet saves, its first cut ticked."""
    packet = json.loads(results.read_text(encoding="utf-8"))
    key = f"cut/1/{packet['nests'][0]['sheet']['id']}/1"
    entries = [{"key": key, "what": "cut 1", "where": "Sheet 1", "value": True}]
    saved = {
        "job": packet["job"],
        "digest": packet["input_digest"],
        "saved": "2026-11-25T10:00:00Z",
        "entries": entries,
    }
    file.write_text(json.dumps(saved), encoding="utf-8")


def blanks_of_an_older_revision(job: Path) -> None:
    """Six blanks are cut, then the drawings are raised."""
    cut = CliRunner().invoke(flatgen, ["tally", "cut", str(job), "TF-101", "6"])
    assert 0 == cut.exit_code, cut.output
    job.write_text(job.read_text(encoding="utf-8").replace('revision = "B"', 'revision = "C"'), encoding="utf-8")


@pytest.mark.parametrize(("name", "line"), EXAMPLES, ids=[line[8:60] for _, line in EXAMPLES])
def test_example_runs(
    name: str, line: str, shop: Path, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    monkeypatch.chdir(shop)
    monkeypatch.setenv("FLATGEN_KEPT", str(shared(tmp_path_factory, "answers")))
    if name == "tally take":
        ticked_in(Path("out/float-fittings/results.json"), Path("bench.json"))
    elif name == "tally use":
        blanks_of_an_older_revision(Path("examples/float-fittings/job.toml"))
    words = shlex.split(line)
    if name == "tally undo":  # the entry before, whatever its number is
        with open_book(Path("examples/float-fittings/shop-book.sqlite"), writing=False) as book:
            words[3] = str(book.rows("SELECT max(id) FROM event WHERE kind = 'conceded'")[0][0])
    # where a browser would open, the user is done with the page
    monkeypatch.setattr("click.launch", lambda address: signal.raise_signal(signal.SIGINT))
    result = CliRunner().invoke(flatgen, words[1:], input="stop\n", catch_exceptions=False)
    assert result.exit_code == (1 if name == "bench" else 0), result.output
    assert result.output.strip()
    if "--out" in words:
        assert Path(words[words.index("--out") + 1]).exists()
