"""Excel on Windows, through xlwings.

::

    functions.py       the module that xlwings loads: one worksheet function per registry entry
    cell_values.py     what Excel hands over and takes back <-> plain cell values
    server.py          the process that computes the cells
    vba_text.py        the VBA module of the functions, with real error values
    bootstrap.py       the VBA module that starts the process
    descriptions.py    texts for the function wizard and for tooltip add-ins
    compound_file.py   reads and writes the container of a VBA project (MS-CFB)
    vba_project.py     adds modules to a VBA project and drops them (MS-OVBA)
    addin_file.py      builds the .xlam in the frame of the one that xlwings ships
    places.py          where everything lies on the user's machine
    install.py         install and remove without Excel running
    with_excel.py      the fallback that lets Excel write the file
    status.py          tries each part and says what stands in the way
    obstacles.py       policies, paths and lists that do
"""
