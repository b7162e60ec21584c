"""One file per command of the command line, each with a click command called ``command``.

They are imported only when used, so that ``hoppersheet --version`` stays quick.
"""
