"""Any .xlsx or .xlsm as a package: its parts, cells and formulas, and computing them."""
