"""The one safe writer: everything that leaves the program as a file goes through here.

``folder`` writes whole folders (the packet, blanks, coupons); ``single`` a file that a person names, and the few files
of the user's own that a command changes (nest.lock, shop.toml). Neither puts anything in the place of a file that
flatgen did not write. Knows no format and no job; below everything but ``errors``.
"""
