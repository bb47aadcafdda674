"""The ground of everything shown: what a page says (``content``), and how it is laid out on paper (``paper``)."""
