"""Small words that many rooms say."""

from flatgen.core.words import counted


def test_one_is_named_as_one() -> None:
    assert ["0 pieces", "1 piece", "2 pieces", "1 batch", "2 batches"] == [
        *(counted(n, "piece") for n in range(3)),
        *(counted(n, "batch", "batches") for n in (1, 2)),
    ]
