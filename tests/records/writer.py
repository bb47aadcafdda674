"""A process that records coupons, two at a time, and says each one's mark once it is acknowledged."""

import sys

from flatgen.records.coupons import record_coupons


def main(book: str, name: str, pairs: str) -> None:
    """Enter pairs of coupons marked NAME/COUNT."""
    from conftest import sample_coupon  # its folder is on the path of this process only

    for pair in range(int(pairs)):
        marks = [f"{name}/{2 * pair + k}" for k in range(2)]
        record_coupons(book, [sample_coupon(mark=mark, recorded_by=name) for mark in marks])
        sys.stdout.write("".join(f"{mark}\n" for mark in marks))
        sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
