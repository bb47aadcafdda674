"""A process that records coupons without end and says each one's number once it is acknowledged. Killed by a test."""

import sys

from flatgen.records.coupons import record_coupons


def main(book: str, name: str) -> None:
    """Enter pairs of coupons marked NAME/COUNT."""
    from conftest import sample_coupon  # its folder is on the path of this process only

    count = 0
    while True:
        marks = [f"{name}/{count + k}" for k in range(2)]
        record_coupons(book, [sample_coupon(mark=mark, recorded_by=name) for mark in marks])
        sys.stdout.write("".join(f"{mark}\n" for mark in marks))
        sys.stdout.flush()
        count += 2


if __name__ == "__main__":
    main(*sys.argv[1:])
