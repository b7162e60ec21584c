"""Functions that a workbook brings along: each a LAMBDA under the function's own name.

A cell ``=HOPPER_REQUIRED_VOLUME(A2,B2,C2)`` is then answered by a defined name of the workbook
itself, in Microsoft 365 and Excel 2024 on Windows, Mac and the web: no add-in, no macro, no
network. The text of each name is written from the function's record in the registry: its plain
formula, limits, units and defaults.

::

    lambdas.py    one function as a LAMBDA, from its record
    helpers.py    the hidden names that read a cell: number or text with a unit, blanks, errors
    stored.py     formula text <-> the form a file keeps; what Excel would refuse
    book.py       puts the names into a package, and finds them there
"""
