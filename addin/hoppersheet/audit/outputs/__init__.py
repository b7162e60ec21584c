"""What an audit becomes: lines on the terminal, a report workbook, an annotated copy."""
