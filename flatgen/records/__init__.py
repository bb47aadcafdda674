"""The shop's own book: coupons, inspections, stock and job log in one SQLite file that only ever grows."""
