"""The text of the VBA module that stands between a cell and Python, written from the registry.

One VBA function per cell function, each of the same form. What matters in it:

1. Each argument passes through ``CellValue``: ranges are handed over as values, which saves a
   dozen calls back into Excel per range and lets dates and currencies arrive as plain numbers.
2. The call passes through ``HopperCall``: an error's text in the result becomes a real error
   value, and the connection to Python is looked up once instead of at every cell. Excel shows
   text where an error value is meant otherwise: ISERROR is false, and SUM skips it silently.
3. Whatever fails on the way is #VALUE!.

xlwings serves the calls (``XLPython.CallUDF``); its own writer of VBA hands over texts for errors.
"""

from __future__ import annotations

import re

from ...errors import HostError
from ...functions import all_functions
from ...registry import Argument, CellFunction
from . import descriptions
from .cell_values import ERROR_NUMBERS, LEFT_OUT
from .functions import MODULE

__all__ = ["MODULE_NAME", "RESERVED", "module_text", "reserved_names"]

#: Name of our module in the VBA project.
MODULE_NAME = "hoppersheet_functions"

# Words that VBA refuses as the name of an argument, lower case ([MS-VBAL] 3.3.5.2), and the
# names that the generated text itself uses. One of them stops the whole module from compiling.
_RESERVED_WORDS = """
    call case close const declare defbool defbyte defcur defdate defdbl defint deflng deflnglng
    deflngptr defobj defsng defstr defvar dim do else elseif end endif enum erase event exit for
    friend function get global gosub goto if implements input let lock loop lset next on open
    option print private public put raiseevent redim resume return rset seek select set static
    stop sub type unlock wend while with write rem any as byref byval each in new shared until
    withevents optional paramarray preserve spc tab then to addressof and eqv imp is like mod not
    or typeof xor abs cbool cbyte ccur cdate cdbl cdec cint clng clnglng clngptr csng cstr cvar
    cverr date debug doevents fix int len lenb me pset scale sgn string array circle inputb lbound
    ubound boolean byte currency double integer long longlong longptr single variant true false
    nothing empty null attribute lineinput vb_base vb_control vb_creatable vb_customizable
    vb_description vb_exposed vb_ext_key vb_globalnamespace vb_helpid vb_invoke_func
    vb_invoke_property vb_invoke_propertyput vb_invoke_propertyputref vb_memberflags vb_name
    vb_predeclaredid vb_procdata vb_templatederived vb_usermemid vb_vardescription vb_varhelpid
    vb_varmemberflags vb_varprocdata vb_varusermemid cdecl decimal defdec
    i given failed xlpy application err thisworkbook lastgiven cellvalue rangevalue hoppercall
    withrealerrors realerror server notbefore describe note auto_open
"""
#: Words, lower case, that no argument may be called.
RESERVED = frozenset(_RESERVED_WORDS.split())

# Words that VBA gives a meaning in some places only. Excel's VBA may take them as a name, the one
# of LibreOffice, in which the text is tested, does not; nobody needs to find out.
_RISKY_WORDS = """
    access alias append base binary class compare error explicit lib line mid module name object
    output property random range read reset step text width
"""
_RISKY = frozenset(_RISKY_WORDS.split())

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]*\Z")


def reserved_names(functions: dict[str, CellFunction] | None = None) -> list[str]:
    """``"FUNCTION.argument"`` for every argument whose name VBA would refuse."""
    wrong = []
    for record in (functions or all_functions()).values():
        taken = RESERVED | {record.name.lower()}
        for argument in record.arguments:
            if not _NAME.match(argument.name) or argument.name.lower() in taken:
                wrong.append(f"{record.name}.{argument.name}")
    return wrong


def _name(argument: Argument) -> str:
    return f"{argument.name}_" if argument.name.lower() in _RISKY else argument.name


def _declared(argument: Argument) -> str:
    """An argument as the first line of its VBA function names it."""
    if argument.kind == "rest":
        return f"ParamArray {_name(argument)}()"
    return _name(argument) if argument.required else f"Optional {_name(argument)}"


def _function(record: CellFunction) -> str:
    """The VBA function of one cell function."""
    fixed = [_name(a) for a in record.arguments if a.kind != "rest"]
    cells = f"Array({', '.join(f'CellValue({name})' for name in fixed)})"
    lines = [
        f"Function {record.name}({', '.join(map(_declared, record.arguments))})",
        *descriptions.attributes(record),
        "    On Error GoTo failed",
    ]
    if len(fixed) < len(record.arguments):
        rest = _name(record.arguments[-1])
        lines += [
            "    Dim given() As Variant, i As Long",
            f"    given = {cells}",
            f"    ReDim Preserve given(0 To UBound({rest}) + {len(fixed)})",
            f"    For i = 0 To UBound({rest})",
            f"        given(i + {len(fixed)}) = CellValue({rest}(i))",
            "    Next i",
        ]
        cells = "given"
    lines += [
        f'    {record.name} = HopperCall("{record.name}", {cells})',
        "    Exit Function",
        "failed:",
        f"    {record.name} = CVErr({ERROR_NUMBERS['#VALUE!']})",
        "End Function",
    ]
    return "\n".join(lines)


_HELPERS = """
Private Function HopperCall(functionName, argumentList)
    ' One call into Python. Python may have ended since the last one: then connect again, once.
    Dim connected As Boolean, connecting As Boolean, why As String, kept, result
    On Error GoTo lost
    connected = Not (Server Is Nothing)
connect:
    If Server Is Nothing Then
        If Now < NotBefore Then GoTo failed
        connecting = True
        Set Server = XLPy
        connecting = False
    End If
    If LastGiven(argumentList) < UBound(argumentList) Then
        ' xlwings takes its time for each argument: drop what is left out at the end.
        kept = argumentList
        ReDim Preserve kept(0 To LastGiven(argumentList))
        result = Server.CallUDF("{module}", functionName, kept, Nothing, Nothing)
    Else
        result = Server.CallUDF("{module}", functionName, argumentList, Nothing, Nothing)
    End If
    HopperCall = WithRealErrors(result)
    Exit Function
lost:
    why = Err.Description
    Set Server = Nothing
    If connecting Then
        ' A sheet of a thousand cells must not try to start a missing Python a thousand times.
        NotBefore = Now + TimeSerial(0, 0, 10)
        Note "Python failed", why
    End If
    If connected Then
        connected = False
        Resume connect
    End If
failed:
    HopperCall = CVErr(2015)
End Function

Private Sub Note(what, text)
    ' Kept where hoppersheet excel status reads it.
    On Error Resume Next
    text = Format(Now, "yyyy-mm-dd hh:nn") & " " & text
    SaveSetting "hoppersheet", "Excel", what, Left(text, 250)
End Sub

Private Function LastGiven(argumentList)
    ' Where the arguments end that the formula does not leave out.
    Dim i As Long
    i = UBound(argumentList)
    Do While i > 0
        If VarType(argumentList(i)) <> vbString Then Exit Do
        If argumentList(i) <> "{left_out}" Then Exit Do
        i = i - 1
    Loop
    LastGiven = i
End Function

Private Function CellValue(Optional x)
    ' What an argument holds: a range its values, anything else itself.
    If IsMissing(x) Then
        CellValue = "{left_out}"
    ElseIf TypeName(x) = "Range" Then
        CellValue = RangeValue(x)
    Else
        CellValue = x
    End If
End Function

Private Function RangeValue(cells)
    Dim used As Long
    If cells.Areas.Count > 1 Then
        ' Value2 of several areas is that of the first: refuse, do not compute on less.
        RangeValue = CVErr(2015)
    ElseIf cells.Rows.Count = cells.Worksheet.Rows.Count Then
        ' A whole column: only down to the last row in use.
        used = cells.Worksheet.UsedRange.Row + cells.Worksheet.UsedRange.Rows.Count - 1
        RangeValue = cells.Resize(used).Value2
    Else
        RangeValue = cells.Value2
    End If
End Function

Private Function WithRealErrors(result)
    Dim i As Long, j As Long, lastColumn As Long
    If Not IsArray(result) Then
        WithRealErrors = RealError(result)
        Exit Function
    End If
    lastColumn = -1
    On Error Resume Next
    lastColumn = UBound(result, 2)
    On Error GoTo 0
    For i = LBound(result, 1) To UBound(result, 1)
        If lastColumn < 0 Then
            result(i) = RealError(result(i))
        Else
            For j = LBound(result, 2) To lastColumn
                result(i, j) = RealError(result(i, j))
            Next j
        End If
    Next i
    WithRealErrors = result
End Function

Private Function RealError(value)
    RealError = value
    If VarType(value) <> vbString Then Exit Function
    If Left(value, 1) <> "#" Then Exit Function
    Select Case value
{cases}
    End Select
End Function
"""


def module_text() -> str:
    """The whole VBA module, lines ended by ``\\n``, without characters outside ASCII.

    Raises:
        HostError: an argument has a name that VBA refuses.
    """
    wrong = reserved_names()
    if wrong:
        raise HostError(f"VBA refuses these argument names: {', '.join(wrong)}")
    cases = "\n".join(
        f'        Case "{text}": RealError = CVErr({number})'
        for text, number in ERROR_NUMBERS.items()
    )
    parts = [
        f'Attribute VB_Name = "{MODULE_NAME}"',
        "' Written by hoppersheet from its registry; a new installation replaces it.",
        "",
        "' The running Python.",
        "Private Server As Object",
        "' Until when no new attempt to start Python is made.",
        "Private NotBefore As Date",
        "",
        "\n\n".join(map(_function, all_functions().values())),
        _HELPERS.format(module=MODULE, cases=cases, left_out=LEFT_OUT).rstrip("\n"),
        "",
        descriptions.auto_open().rstrip("\n"),
        "",
    ]
    text = "\n".join(parts)
    text.encode("ascii")
    return text
