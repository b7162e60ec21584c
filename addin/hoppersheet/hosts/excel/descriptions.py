"""What Excel and tooltip add-ins say about the functions, all from the registry.

Excel keeps a function's text in the VBA module itself (an attribute, no Excel needed to write
it). The texts of the arguments and the category exist only in a running Excel, so the module
hands them over each time the add-in opens (``Application.MacroOptions``). Excel itself shows no
tooltip while a formula is typed; open-source add-ins that do read an XML of their own.
"""

from __future__ import annotations

from ...functions import all_functions
from ...registry import CATEGORY, CellFunction
from ...workbook.safe_xml import quoteattr

__all__ = ["TOOLTIPS_NAMESPACE", "attributes", "auto_open", "tooltips_xml"]

#: Excel cuts every text at this length.
_LONGEST = 255

#: Namespace of the function descriptions that the Excel-DNA IntelliSense add-in reads.
TOOLTIPS_NAMESPACE = "http://schemas.excel-dna.net/intellisense/1.0"


def _quoted(text: str) -> str:
    """A VBA text literal."""
    plain = " ".join(text.split()).encode("ascii", "replace").decode("ascii")[:_LONGEST]
    doubled = plain.replace('"', '""')
    return f'"{doubled}"'


def attributes(record: CellFunction) -> list[str]:
    """The lines of a VBA function that hold its text, below the first one."""
    return [
        f"Attribute {record.name}.VB_Description = {_quoted(record.summary)}",
        # 14 is Excel's category "User Defined"; auto_open moves it to our own.
        f'Attribute {record.name}.VB_ProcData.VB_Invoke_Func = " \\n14"',
    ]


def _describe(record: CellFunction) -> str:
    texts = ", _\n        ".join(_quoted(argument.text) for argument in record.arguments)
    about = f"{_quoted(record.name)}, {_quoted(record.summary)}"
    return f"    Describe {about}, Array( _\n        {texts})"


def auto_open() -> str:
    """The VBA that tells a starting Excel what the arguments mean."""
    lines = [
        "Public Sub Auto_Open()",
        "    ' Texts for the function wizard. No result depends on them: a refusal is noted.",
        "    #If Win64 Then",
        '        Note "opened", "by Excel " & Application.Version & ", 64-bit"',
        "    #Else",
        '        Note "opened", "by Excel " & Application.Version & ", 32-bit"',
        "    #End If",
        '    Note "texts refused", ""',
    ]
    lines += [_describe(record) for record in all_functions().values() if record.arguments]
    lines += [
        "    ThisWorkbook.Saved = True",
        "End Sub",
        "",
        "Private Sub Describe(functionName, text, argumentTexts)",
        "    On Error GoTo refused",
        '    Application.MacroOptions Macro:="\'" & ThisWorkbook.Name & "\'!" & functionName, _',
        f"        Description:=text, Category:={_quoted(CATEGORY)}, _",
        "        ArgumentDescriptions:=argumentTexts",
        "    Exit Sub",
        "refused:",
        '    Note "texts refused", functionName & ": " & Err.Number & " " & Err.Description',
        "End Sub",
    ]
    return "\n".join(lines) + "\n"


def tooltips_xml() -> str:
    """Function and argument texts in the form that the Excel-DNA IntelliSense add-in reads."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>',
        f'<IntelliSense xmlns="{TOOLTIPS_NAMESPACE}">',
        "  <FunctionInfo>",
    ]
    for record in all_functions().values():
        lines.append(
            f"    <Function Name={quoteattr(record.name)} Description={quoteattr(record.summary)}>"
        )
        lines += [
            f"      <Argument Name={quoteattr(a.name if a.required else f'[{a.name}]')} "
            f"Description={quoteattr(a.text)}/>"
            for a in record.arguments
        ]
        lines.append("    </Function>")
    lines += ["  </FunctionInfo>", "</IntelliSense>", ""]
    return "\n".join(lines)
