"""Excel on Windows, through xlwings.

::

    functions.py       the module that xlwings loads: one worksheet function per registry entry
    cell_values.py     what Excel hands over and takes back <-> plain cell values
    vba_text.py        the VBA module around these functions, with real error values
    descriptions.py    texts for the function wizard and for tooltip add-ins
    compound_file.py   reads and writes the container of a VBA project (MS-CFB)
    vba_project.py     adds a module to a VBA project (MS-OVBA)
    addin_file.py      builds the .xlam from the one that xlwings ships
    places.py          where everything lies on the user's machine
    install.py         install, remove, status without Excel running
    with_excel.py      the fallback that lets Excel do it
"""
