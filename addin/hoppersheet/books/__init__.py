"""Workbooks that hoppersheet writes; each file here is one of them or serves several."""
