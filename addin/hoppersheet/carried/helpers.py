"""The hidden names that every carried function shares: how a cell is read.

They do what :mod:`hoppersheet.cells` does: a number within its limits, a text with a unit, a
decimal comma, a percentage; a blank is no number; an error stays what it is. Their names begin
with ``HOPPERSHEET_``, so that nobody takes them for cell functions.

In these texts a lower-case word is a parameter or a variable, and ``[word]`` an optional parameter;
:mod:`.stored` gives them the form that a file keeps.
"""

from __future__ import annotations

from functools import cache

from ..cells.units import STANDARD_FLOWS
from .resin_sheet import names as resin_ranges
from .unit_words import FIRST_WORDS, TEMPERATURE, TIME, unit_words

__all__ = ["helpers"]

# Signs in a unit, and what takes their place; see hoppersheet.cells.units.canonical.
_SIGNS = (
    ("°", "deg "), ("²", "2"), ("³", "3"), ("·", "*"), ("⋅", "*"), ("∙", "*"),
    ("•", "*"), ("**", ""), (".", ""), ("^", ""), ("(", ""), (")", ""), ("[", ""), ("]", ""),
    ("gr/lb", "grain/lb"), ("⁻", "-"), ("¹", "1"),
)  # fmt: skip
# Spaces that no keyboard shows, and the minus sign of typographers.
_SPACES = "160;8201;8239"
_DIGITS = '"0123456789"'

_UNIT = """
LAMBDA(unit,part,IF(unit="",IF(part=1,1,0),LET(
signs,{signs},
plain,TRIM(REDUCE(unit,SEQUENCE(ROWS(signs)),
LAMBDA(done,i,SUBSTITUTE(done,INDEX(signs,i,1),INDEX(signs,i,2))))),
apart,SUBSTITUTE(SUBSTITUTE(LOWER(plain)," per ","/"),"per ","/"),
close,REDUCE(apart,{{" /","/ "," *","* "}},LAMBDA(done,pair,SUBSTITUTE(done,pair,TRIM(pair)))),
divided,REDUCE(close,{{"-1","-1","-3"}},LAMBDA(done,power,HOPPERSHEET_UNDER(done,power))),
joined,REDUCE(divided,{first_words},LAMBDA(done,pair,SUBSTITUTE(done,pair,TRIM(pair)))),
spelled,SUBSTITUTE(SUBSTITUTE(joined," ","*"),"-","*"),
over,LEN(spelled)-LEN(SUBSTITUTE(spelled,"/","")),
wide,SUBSTITUTE(spelled,"/",REPT(" ",99)),
second_words,TRIM(MID(wide,100,99)),third_words,TRIM(MID(wide,199,99)),
worked_out,LAMBDA(words,HOPPERSHEET_PRODUCT(words,part)),
none,IF(part=1,1,0),
above,worked_out(TRIM(LEFT(wide,99))),
below,IF(over>0,worked_out(second_words),none),
further,IF(over>1,worked_out(third_words),none),
last,IF(over>2,worked_out(TRIM(MID(wide,298,99))),none),
up,IF(over=2,HOPPERSHEET_PRODUCT(third_words,2)={time},FALSE),
IF(OR(over>3,ISNUMBER(FIND("/T/","/"&SUBSTITUTE(SUBSTITUTE(plain,"*","/")," ","/")&"/"))),#VALUE!,
IF(part=1,above/below*last*IF(up,further,1/further),
IF(part=2,above-below+last+IF(up,further,-further),
IF(OR(over>0,ISNUMBER(FIND("*",spelled))),0,above)))))))
"""

# kg h-1 and g*cm-3 as kg/h and g/cm3: the word before the power goes under the line.
_UNDER = """
LAMBDA(words,power,LET(
at,IFERROR(FIND(power,words),0),
before,SUBSTITUTE(LEFT(words,MAX(at-1,0)),"*"," "),
gap,IFERROR(FIND("|",SUBSTITUTE(before," ","|",LEN(before)-LEN(SUBSTITUTE(before," ","")))),0),
after,MID(words,at+2,1),
IF(OR(gap=0,gap=LEN(before),NOT(OR(after="",after=" ",after="*",after="/"))),words,
LEFT(words,gap-1)&"/"&MID(words,gap+1,at-gap-1)&IF(power="-3","3","")&MID(words,at+2,99))))
"""

_PRODUCT = """
LAMBDA(words,part,LET(
at,IFERROR(FIND("*",words),0),
IF(at=0,HOPPERSHEET_WORD(words,part),LET(
one,HOPPERSHEET_WORD(LEFT(words,at-1),part),
other,HOPPERSHEET_WORD(MID(words,at+1,99),part),
IF(part=1,one*other,one+other)))))
"""

_WORD = """
LAMBDA(word,part,LET(
known,{words},
IFERROR(INDEX(known,MATCH(SUBSTITUTE(SUBSTITUTE(word,"?","|"),"~","|"),INDEX(known,0,1),0),part+1),
#VALUE!)))
"""

# How many signs at the start of a text belong to its number: digits, points, commas, a sign in
# front, spaces between groups of three, an exponent.
_LENGTH = """
LAMBDA(typed,LET(
long,typed&"|||||",
digit,LAMBDA(at,ISNUMBER(FIND(MID(long,at,1),{digits}))),
REDUCE(0,SEQUENCE(MIN(LEN(typed),60)),LAMBDA(done,at,IF(done<at-1,done,LET(
one,MID(long,at,1),
before,IF(at>1,MID(long,at-1,1),""),
ours,IF(ISNUMBER(FIND(one,"0123456789.,")),TRUE,
IF(OR(one="+",one="-"),OR(at=1,before="e"),
IF(one=" ",AND(at>1,digit(at+1),digit(at+2),digit(at+3),NOT(digit(at+4))),
IF(one="e",AND(at>1,OR(digit(at+1),AND(OR(MID(long,at+1,1)="+",MID(long,at+1,1)="-"),digit(at+2)))),
FALSE)))),
IF(ours,at,done)))))))
"""

# A number as typed: with a decimal comma or point, and groups of three. Part 1 is the usual
# reading; part 2 the other one of a lone 1,234 or 1.234, #N/A where there is no other.
_DECIMAL = """
LAMBDA(typed,part,LET(
minus,IF(LEFT(typed,1)="-",-1,1),
body,IF(OR(LEFT(typed,1)="-",LEFT(typed,1)="+"),MID(typed,2,99),typed),
spaces,LEN(body)-LEN(SUBSTITUTE(body," ","")),
commas,LEN(body)-LEN(SUBSTITUTE(body,",","")),
points,LEN(body)-LEN(SUBSTITUTE(body,".","")),
group,IF(spaces>0," ",IF(commas*points>0,IF(IFERROR(FIND(",",body),0)<IFERROR(FIND(".",body),0),
",","."),IF(commas>1,",",IF(points>1,".","")))),
decimal,IF(spaces>0,IF(commas>0,",","."),IF(commas*points>0,IF(group=",",".",","),
IF(commas>1,".",IF(OR(points>1,commas=1),",",".")))),
whole,LEFT(body,IFERROR(FIND(decimal,body)-1,LEN(body))),
grouped,IF(group="",TRUE,AND(MOD(LEN(whole),4)>0,LEFT(whole,1)<>"0",
ISERROR(FIND(group,MID(body,LEN(whole)+1,99))),
REDUCE(TRUE,SEQUENCE(MAX(1,LEN(whole))),LAMBDA(good,at,
AND(good,IF(MOD(at,4)=0,MID(whole,LEN(whole)+1-at,1)=group,MID(whole,LEN(whole)+1-at,1)<>group)))))),
some,SUM(MAP(SEQUENCE(10),LAMBDA(digit,IF(ISNUMBER(FIND(digit-1,body)),1,0))))>0,
lone,AND(spaces=0,commas+points=1,LEN(body)>4,LEN(body)<8,LEFT(body,1)<>"0",
IFERROR(FIND(decimal,body),0)=LEN(body)-3,ISERROR(FIND("e",body))),
IF(NOT(AND(some,grouped)),#VALUE!,
IF(part=1,minus*IFERROR(NUMBERVALUE(IF(group="",body,SUBSTITUTE(body,group,"")),decimal,"~"),#VALUE!),
IF(lone,minus*NUMBERVALUE(SUBSTITUTE(body,decimal,""),".","~"),#N/A)))))
"""

_CLEAN = """
LAMBDA(typed,TRIM(SUBSTITUTE(REDUCE(typed,{{{spaces}}},
LAMBDA(done,code,SUBSTITUTE(done,UNICHAR(code)," "))),UNICHAR(8722),"-")))
"""

# A text such as "45 kg/h" as the plain number of the unit home, to 14 digits.
_TEXT = """
LAMBDA(typed,home,low,high,LET(
clean,HOPPERSHEET_CLEAN(typed),
long,IF(clean="",0,HOPPERSHEET_LENGTH(LOWER(clean))),
digits,TRIM(LEFT(LOWER(clean),long)),
unit,TRIM(MID(clean,long+1,99)),
scale,IF(unit="",1,IF(HOPPERSHEET_UNIT(unit,2)=HOPPERSHEET_UNIT(home,2),
HOPPERSHEET_UNIT(unit,1)/HOPPERSHEET_UNIT(home,1),#VALUE!)),
shift,IF(unit="",0,(HOPPERSHEET_UNIT(unit,3)-HOPPERSHEET_UNIT(home,3))/HOPPERSHEET_UNIT(home,1)),
one,HOPPERSHEET_ROUND(HOPPERSHEET_DECIMAL(digits,1)*scale+shift),
other,HOPPERSHEET_ROUND(HOPPERSHEET_DECIMAL(digits,2)*scale+shift),
IF(ISERROR(one),one,IF(ISERROR(other),one,
IF(AND(other>=low,other<=high),IF(AND(one>=low,one<=high),#VALUE!,other),one)))))
"""

_ROUND = "LAMBDA(number,IF(number=0,0,ROUND(number,13-INT(LOG10(ABS(number))))))"

# One cell as a number within limits.
_NUMBER = """
LAMBDA(cell,home,low,high,IF(ROWS(cell)*COLUMNS(cell)<>1,#VALUE!,IF(ISERROR(cell),cell,LET(
number,IF(ISNUMBER(cell),cell,IF(ISTEXT(cell),HOPPERSHEET_TEXT(cell,home,low,high),#VALUE!)),
IF(ISERROR(number),number,IF(AND(number>=low,number<=high),number,#NUM!))))))
"""

# A cell of a range: "" where it is blank.
_CELL = """
LAMBDA(cell,home,low,high,IF(ISERROR(cell),cell,
IF(TRIM(cell&"")="","",HOPPERSHEET_NUMBER(cell,home,low,high))))
"""

# A range as a column of numbers; "" for a blank cell, an error where the cell is refused. A range
# of numbers alone is taken as it is.
_CELLS = """
LAMBDA(cells,home,low,high,IF(ROWS(cells)*COLUMNS(cells)=1,HOPPERSHEET_CELL(cells,home,low,high),
IF(IFERROR(AND(COUNT(cells)=ROWS(cells)*COLUMNS(cells),MIN(cells)>=low,MAX(cells)<=high),FALSE),
TOCOL(cells),TOCOL(MAP(cells,LAMBDA(cell,HOPPERSHEET_CELL(cell,home,low,high)))))))
"""

# The first error in a range, or what is given where there is none.
_ERROR = """
LAMBDA(cells,before,IF(ISERROR(before),before,
REDUCE(before,cells,LAMBDA(found,cell,IF(ISERROR(found),found,IF(ISERROR(cell),cell,found))))))
"""

_FILLED = """
LAMBDA(cells,LET(filled,MAP(cells,LAMBDA(cell,cell<>"")),IF(OR(filled),FILTER(cells,filled),#VALUE!)))
"""

_METRIC = """
LAMBDA(units,IF(ROWS(units)*COLUMNS(units)<>1,#VALUE!,IF(ISERROR(units),units,
IF(LOWER(TRIM(units))="us",FALSE,IF(LOWER(TRIM(units))="metric",TRUE,#VALUE!)))))
"""

# A unit system typed where a number belongs: everything behind it was read in the wrong one.
_SYSTEM = """
LAMBDA(cell,IFERROR(IF(ROWS(cell)*COLUMNS(cell)<>1,FALSE,
OR(LOWER(TRIM(cell))="us",LOWER(TRIM(cell))="metric")),FALSE))
"""

_CHOICE = """
LAMBDA(cell,IF(ROWS(cell)*COLUMNS(cell)<>1,#VALUE!,IF(ISERROR(cell),cell,
IF(ISTEXT(cell),IF(TRIM(cell)="",#VALUE!,LOWER(TRIM(cell))),#VALUE!))))
"""

_PHRASE = """
LAMBDA(cell,IF(ROWS(cell)*COLUMNS(cell)<>1,#VALUE!,IF(ISERROR(cell),cell,
IF(ISTEXT(cell),IF(TRIM(cell)="",#VALUE!,TRIM(cell)),#VALUE!))))
"""

# Low, likely or high of an estimate, which may be one cell.
_OF_THREE = "LAMBDA(cells,place,IF(ROWS(cells)=1,SUM(cells),INDEX(cells,place)))"

# An estimate: three cells in a row or a column that do not fall, or one.
_ESTIMATE = """
LAMBDA(range,home,low,high,LET(
cells,HOPPERSHEET_CELLS(range,home,low,high),
first,HOPPERSHEET_ERROR(cells,0),
count,ROWS(range)*COLUMNS(range),
IF(ISERROR(first),first,
IF(OR(count=1,AND(count=3,MIN(ROWS(range),COLUMNS(range))=1)),
IF(SUM(MAP(cells,LAMBDA(cell,IF(cell="",1,0))))>0,#VALUE!,
IF(count=1,cells,IF(AND(INDEX(cells,1)<=INDEX(cells,2),INDEX(cells,2)<=INDEX(cells,3)),cells,
#NUM!))),#VALUE!))))
"""

# An airflow, which may be a standard flow: a mass of air, made the flow at a temperature in K where
# the air is so many times thinner than at sea level.
_FLOW = """
LAMBDA(cell,home,low,high,kelvin,thinner,IF(ROWS(cell)*COLUMNS(cell)<>1,#VALUE!,LET(
typed,IF(ISERROR(cell),"",IF(ISTEXT(cell),HOPPERSHEET_CLEAN(cell),"")),
long,IF(typed="",0,HOPPERSHEET_LENGTH(LOWER(typed))),
unit,SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(LOWER(MID(typed,long+1,99))," ",""),"³","3"),".",""),
known,{flows},
which,IFERROR(MATCH(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(unit,"*","|"),"?","|"),"~","|"),
INDEX(known,0,1),0),0),
IF(which=0,HOPPERSHEET_NUMBER(cell,home,low,high),LET(
there,HOPPERSHEET_TEXT(LEFT(typed,long)&" "&INDEX(known,which,2),home,-1E+99,1E+99),
flow,there*kelvin/(INDEX(known,which,3)+273.15)*thinner,
IF(ISERROR(flow),flow,IF(AND(flow>=low,flow<=high),flow,#NUM!)))))))
"""

_CONVERTED = """
LAMBDA(value,from_unit,to_unit,LET(
typed,IF(ISERROR(value),"",IF(ISTEXT(value),HOPPERSHEET_CLEAN(value),"")),
long,IF(typed="",0,HOPPERSHEET_LENGTH(LOWER(typed))),
digits,TRIM(LEFT(LOWER(typed),long)),
own,TRIM(MID(typed,long+1,99)),
number,IF(ISERROR(value),value,IF(ISNUMBER(value),value,
IF(ISNUMBER(HOPPERSHEET_DECIMAL(digits,2)),#VALUE!,HOPPERSHEET_DECIMAL(digits,1)))),
measures,HOPPERSHEET_UNIT(to_unit,2),
source,IF(own="",from_unit,own),
celsius,number*HOPPERSHEET_UNIT(source,1)+HOPPERSHEET_UNIT(source,3),
IF(ISERROR(number),number,
IF(AND(HOPPERSHEET_UNIT(from_unit,2)=measures,HOPPERSHEET_UNIT(source,2)=measures),
IF(AND(measures={temperature},celsius<-273.150000001),#NUM!,
HOPPERSHEET_ROUND((celsius-HOPPERSHEET_UNIT(to_unit,3))/HOPPERSHEET_UNIT(to_unit,1))),#VALUE!))))
"""

# A value of the resin table on the hidden sheet. An own table is refused, not ignored: it is for
# the add-in.
_RESIN = """
LAMBDA(resin,property,own_table,metric,LET(
word,TRIM(SUBSTITUTE(SUBSTITUTE(LOWER(property),"_"," "),"-"," ")),
heading,IF(metric,"metric ","US ")&HOPPERSHEET_NO_SIGNS(word,{{"?","*","~"}}),
across,IFERROR(MATCH(heading,HOPPERSHEET_RESIN_HEADINGS,0),0),
key,HOPPERSHEET_NO_SIGNS(LOWER(resin),{signs}),
named,IFERROR(INDEX(HOPPERSHEET_RESIN_NAMES,MATCH(key,INDEX(HOPPERSHEET_RESIN_NAMES,0,1),0),2),""),
down,IFERROR(MATCH(named,HOPPERSHEET_RESINS,0),0),
IF(own_table<>"none",#VALUE!,
IF(across=0,#VALUE!,IF(named="",#N/A,LET(
value,INDEX(HOPPERSHEET_RESIN_VALUES,down,across),IF(value="",#N/A,value)))))))
"""

_NO_SIGNS = 'LAMBDA(text,signs,REDUCE(text,signs,LAMBDA(done,sign,SUBSTITUTE(done,sign,""))))'

#: Signs that do not count in the name of a resin.
_NAME_SIGNS = " \u00a0-_/.,()+&'*?~:;#[]\u2010\u2011\u2012\u2013\u2014\u2212\u00ae\u2122"


def _rows(rows: list[tuple[str, ...]]) -> str:
    """Rows as an array typed into a formula."""
    return "{" + ";".join(",".join(row) for row in rows) + "}"


def _quoted(text: str) -> str:
    doubled = text.replace('"', '""')
    return f'"{doubled}"'


@cache
def helpers() -> dict[str, str]:
    """Name -> text of every hidden name; each calls only names that stand before it."""
    words = _rows([(_quoted(word), *numbers) for word, *numbers in unit_words()])
    signs = _rows([(_quoted(sign), _quoted(new)) for sign, new in _SIGNS])
    first_words = "{" + ",".join(_quoted(f"{word} ") for word in FIRST_WORDS) + "}"
    flows = _rows(
        [
            (_quoted(unit), _quoted(volume), f"{at:g}")
            for unit, (volume, at) in STANDARD_FLOWS.items()
        ]
    )
    texts = {
        "WORD": _WORD.format(words=words),
        "PRODUCT": _PRODUCT,
        "UNDER": _UNDER,
        "UNIT": _UNIT.format(signs=signs, first_words=first_words, time=TIME),
        "CLEAN": _CLEAN.format(spaces=_SPACES),
        "LENGTH": _LENGTH.format(digits=_DIGITS),
        "DECIMAL": _DECIMAL,
        "ROUND": _ROUND,
        "TEXT": _TEXT,
        "NUMBER": _NUMBER,
        "CELL": _CELL,
        "CELLS": _CELLS,
        "FILLED": _FILLED,
        "ERROR": _ERROR,
        "METRIC": _METRIC,
        "SYSTEM": _SYSTEM,
        "CHOICE": _CHOICE,
        "PHRASE": _PHRASE,
        "OF_THREE": _OF_THREE,
        "ESTIMATE": _ESTIMATE,
        "FLOW": _FLOW.format(flows=flows),
        "NO_SIGNS": _NO_SIGNS,
        "RESIN": _RESIN.format(signs="{" + ",".join(map(_quoted, _NAME_SIGNS)) + "}"),
        "CONVERTED": _CONVERTED.format(temperature=TEMPERATURE),
    }
    written = {f"HOPPERSHEET_{key}": text.replace("\n", "") for key, text in texts.items()}
    return {**resin_ranges(), **written}
