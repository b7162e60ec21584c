"""The workbooks that ship, described as data and written with openpyxl."""
