"""Headings in German, French and Spanish are read; of others it is said that they were not.

The words over the columns are common ones of the trade, written down from memory. Jobs, figures
and models are invented.
"""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from hoppersheet.audit import audit_book
from hoppersheet.audit.roles import role_of

#: role -> heading in German, French, Spanish
WORDS = {
    "job": ("Auftrag", "Machine", "M\u00e1quina"),
    "resin": ("Werkstoff", "Mati\u00e8re", "Material"),
    "virgin share": ("Anteil Neuware", "Part vierge", "Proporci\u00f3n virgen"),
    "regrind share": ("Mahlgutanteil", "Part rebroy\u00e9", "Proporci\u00f3n molido"),
    "virgin density": (
        "Sch\u00fcttdichte Neuware [kg/L]", "Densit\u00e9 apparente vierge [kg/L]",
        "Densidad aparente virgen [kg/L]",
    ),
    "regrind density": (
        "Sch\u00fcttdichte Mahlgut [kg/L]", "Densit\u00e9 apparente rebroy\u00e9 [kg/L]",
        "Densidad aparente molido [kg/L]",
    ),
    "throughput": ("Durchsatz [kg/h]", "D\u00e9bit [kg/h]", "Consumo [kg/h]"),
    "hours": ("Trocknungszeit [h]", "Temps de s\u00e9chage [h]", "Horas de secado"),
    "density": ("Mischdichte [kg/L]", "Densit\u00e9 m\u00e9lange [kg/L]", "Densidad mezcla [kg/L]"),
    "required volume": ("Volumen n\u00f6tig [L]", "Volume requis [L]", "Volumen requerido [L]"),
    "size": ("Trichter [L]", "Tr\u00e9mie [L]", "Tolva [L]"),
    "held hours": ("Verweilzeit [h]", "Temps de s\u00e9jour [h]", "Tiempo de residencia [h]"),
    "model": ("Typ", "Mod\u00e8le", "Modelo"),
    "list price": ("Listenpreis [EUR]", "Prix [EUR]", "Precio [EUR]"),
    "quantity": ("Menge", "Quantit\u00e9", "Cantidad"),
    "discount": ("Rabatt", "Remise", "Descuento"),
    "net price": ("Betrag [EUR]", "Montant [EUR]", "Importe [EUR]"),
    "grand total": ("Gesamtsumme", "Total", "Total"),
}  # fmt: skip
LANGUAGES = ("German", "French", "Spanish")


def quote(words: dict[str, str], path: Path) -> openpyxl.Workbook:
    """A quote of three lines, its columns headed in some language."""
    book = openpyxl.Workbook()
    catalog = book.active
    catalog.title = "Sizes"
    catalog.append([words["size"], words["model"], words["list price"]])
    for size in (220, 340, 560, 850):
        catalog.append([size, f"EXAMPLE-{size}", 1500 + 6 * size])
    sheet = book.create_sheet("Quote")
    sheet.append([heading for role, heading in words.items() if role != "grand total"])
    for at, job in enumerate((("Press 1", "ABS", 0.7, 101), ("Press 2", "PC", 1.0, 73),
                              ("Press 3", "PMMA", 0.9, 86)), 2):  # fmt: skip
        name, resin, share, rate = job
        sizes = "Sizes!$A$2:$A$5"
        sheet.append([
            name, resin, share, f"=1-C{at}", 0.64, 0.45, rate, 4,
            f'=HOPPER_BLEND_DENSITY(C{at}:D{at},E{at}:F{at},"volume","metric")',
            f'=HOPPER_REQUIRED_VOLUME(G{at},H{at},I{at},,"metric")',
            f'=HOPPER_NEXT_SIZE(J{at},{sizes},,"metric")',
            f'=HOPPER_HELD_HOURS(K{at},I{at},G{at},"metric")',
            f'=HOPPER_CATALOG_ENTRY(K{at},{sizes},Sizes!$B$2:$B$5,"metric")',
            f'=HOPPER_CATALOG_ENTRY(K{at},{sizes},Sizes!$C$2:$C$5,"metric")',
            at, 0.05, f"=N{at}*O{at}*(1-P{at})",
        ])  # fmt: skip
    sheet["A5"], sheet["Q5"] = words["grand total"], "=SUM(Q2:Q4)"
    book.save(path)
    return book


@pytest.mark.parametrize("role", WORDS)
def test_a_heading_means_the_same_in_each_language(role: str) -> None:
    # "Total" and "Betrag" over a column are each line's; what the audit makes of it is below.
    for heading in WORDS[role]:
        found = role_of(heading)
        assert found == role or (role == "net price" and found in ("net price", "grand total"))


@pytest.mark.parametrize("at", range(len(LANGUAGES)), ids=LANGUAGES)
def test_a_quote_is_followed_to_its_total(at: int, tmp_path: Path) -> None:
    path = tmp_path / "quote.xlsx"
    book = quote({role: headings[at] for role, headings in WORDS.items()}, path)
    audit = audit_book(path, "core")
    assert [f for f in audit.findings if f.severity != "note"] == []
    assert audit.coverage.complete and audit.coverage.total == "Quote!Q5"
    assert audit.coverage.worked_out == 3
    # A quantity of nothing is seen whatever the column is called.
    book["Quote"]["O3"] = 0
    book.save(path)
    assert "O3" in {f.cell for f in audit_book(path, "core").findings}


def test_columns_of_a_language_that_nobody_knows_are_named(tmp_path: Path) -> None:
    # Our functions tell throughput, hours and volume; of the money nobody knows what it is.
    path = tmp_path / "quote.xlsx"
    quote({role: f"Kolumna {at}" for at, role in enumerate(WORDS)}, path)
    audit = audit_book(path, "core")
    assert [line.holds for line in audit.sign_off.lines] != [None] * 3
    assert not audit.coverage.complete and audit.status == 1
    assert "takes 'Kolumna 14' and 'Kolumna 15'" in audit.verdict  # quantity and discount


@pytest.mark.parametrize("heading", ["Hopper volume [m3]", "Volume [m3]"])
def test_of_two_volumes_the_one_with_the_model_is_the_size(heading: str, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append([
        "Job", "Throughput [kg/h]", "Drying time [h]", "Bulk density [kg/m3]",
        "Required volume [m3]", heading, "Type",
    ])  # fmt: skip
    for at, rate in enumerate((101, 73, 44), 2):
        sheet.append([
            f"Press {at}", rate, 4, 620, f"=B{at}*C{at}/D{at}",
            f'=SMALL($I$2:$I$5,COUNTIF($I$2:$I$5,"<"&E{at})+1)',
            f"=INDEX($J$2:$J$5,MATCH(F{at},$I$2:$I$5,0))",
        ])  # fmt: skip
    for at, row in enumerate(
        (("Size [m3]", "Model"), (0.34, "E-1"), (0.56, "E-2"), (0.85, "E-3")), 1
    ):
        sheet.cell(at, 9, row[0])
        sheet.cell(at, 10, row[1])
    book.save(tmp_path / "book.xlsx")
    audit = audit_book(tmp_path / "book.xlsx", "core")
    # 101 x 4 / 620 = 0.652 m3 -> 0.85; 0.471 -> 0.56; 0.284 -> 0.34
    assert [line.chosen for line in audit.sign_off.lines] == [850, 560, 340]
    sheet.delete_cols(6, 5)
    book.save(tmp_path / "book.xlsx")
    assert "No hopper is chosen for 3 lines" in audit_book(tmp_path / "book.xlsx", "core").verdict
