"""The programs that hoppersheet works inside: one folder per spreadsheet program."""
