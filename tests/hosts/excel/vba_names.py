"""Names that no argument may have, because Excel reaches the functions through generated VBA.

One reserved word as a parameter name breaks the whole module: every function is dead.
"""

from __future__ import annotations

import re

#: Microsoft, [MS-VBAL] VBA Language Specification, section 3.3.5.2 "Reserved Identifiers and
#: IDENTIFIER", production by production; none of them is sensitive to case.
_RESERVED = {
    "statement-keyword": (
        "call case close const declare defbool defbyte defcur defdate defdbl defint deflng "
        "deflnglng deflngptr defobj defsng defstr defvar dim do else elseif end endif enum "
        "erase event exit for friend function get global gosub goto if implements input let "
        "lock loop lset next on open option print private public put raiseevent redim resume "
        "return rset seek select set static stop sub type unlock wend while with write"
    ),
    "rem-keyword": "rem",
    "marker-keyword": (
        "any as byref byval case each else in new shared until withevents write optional "
        "paramarray preserve spc tab then to"
    ),
    "operator-identifier": "addressof and eqv imp is like new mod not or typeof xor",
    "reserved-name": (
        "abs cbool cbyte ccur cdate cdbl cdec cint clng clnglng clngptr csng cstr cvar cverr "
        "date debug doevents fix int len lenb me pset scale sgn string"
    ),
    "special-form": "array circle input inputb lbound scale ubound",
    "reserved-type-identifier": (
        "boolean byte currency date double integer long longlong longptr single string variant"
    ),
    "literal-identifier": "true false nothing empty null",
    "reserved-for-implementation-use": (
        "attribute lineinput vb_base vb_control vb_creatable vb_customizable vb_description "
        "vb_exposed vb_ext_key vb_globalnamespace vb_helpid vb_invoke_func vb_invoke_property "
        "vb_invoke_propertyput vb_invoke_propertyputref vb_memberflags vb_name vb_predeclaredid "
        "vb_procdata vb_templatederived vb_usermemid vb_vardescription vb_varhelpid "
        "vb_varmemberflags vb_varprocdata vb_varusermemid"
    ),
    "future-reserved": "cdecl decimal defdec",
}
RESERVED = frozenset(word for words in _RESERVED.values() for word in words.split())

#: Not reserved by the specification, but words of statements (Error, Line Input, Mid, Name), or
#: names that the generated wrapper uses itself.
RISKY = frozenset(("error", "line", "mid", "midb", "name", "object", "k", "argsarray"))

_VBA_NAME = re.compile(r"[a-z][a-z0-9_]*", re.IGNORECASE)
#: A1 style up to XFD1048576, and R1C1 style (ECMA-376 part 1, section 18.17.2.3).
_CELL = re.compile(r"[a-z]{1,3}[0-9]{1,7}|r[0-9]*|c[0-9]*|r[0-9]*c[0-9]*", re.IGNORECASE)


def objections(name: str) -> list[str]:
    """Why ``name`` must not be the name of an argument; empty where it may."""
    found = []
    if not _VBA_NAME.fullmatch(name):
        found.append("not a VBA identifier")
    if name.casefold() in RESERVED:
        found.append("reserved in VBA")
    if name.casefold() in RISKY:
        found.append("means something to VBA or to the wrapper")
    if _CELL.fullmatch(name):
        found.append("shaped like a cell address")
    return found
