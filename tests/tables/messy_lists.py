"""Job lists as people really send them, each with what a careful estimator would make of it.

All invented. Every expected volume is worked by hand from the figures in the list: throughput x
hours / bulk density x (1 + reserve), an arithmetic identity; blends by volume as the sum of share x
density, by mass as 1 / sum(share / density), which is common practice, no source. Values of the
resin table are taken from ``data/resins.csv``, which the tests of resins check.

An expectation is, per job,

- a volume in liters: sized, and to that volume;
- ``(liters, "words")``: sized, and the words stand in ``assumed`` or ``check`` of the row;
- ``"no: words"``: no size; the words stand in the row's ``problem``.

or for the whole list a text: it is refused, and the question holds these words.
"""

from __future__ import annotations

from dataclasses import dataclass, field

FT3 = 28.316846592  # L, NIST SP 811 B.8
LB = 0.45359237  # kg, the same
LB_FT3 = LB / FT3  # kg/L

Expected = float | tuple[float, str] | str


@dataclass
class Messy:
    """One list: its text, its file's ending, the options, and what must come of each job."""

    name: str
    text: str
    expect: dict[str, Expected] | str
    ending: str = ".csv"
    options: dict[str, object] = field(default_factory=dict)
    #: words that the receipt must hold
    told: tuple[str, ...] = ()
    #: whether HOPPER_SIZE_JOBS on the same cells must answer the same
    as_range: bool = True


def kg(rate: float, hours: float, density: float, reserve: float = 0.0) -> float:
    """Liters from kg/h, hours and kg/L."""
    return rate * hours / density * (1 + reserve)


def lb(rate: float, hours: float, density: float, reserve: float = 0.0) -> float:
    """Liters from lb/h, hours and lb/ft3."""
    return rate * hours / density * (1 + reserve) * FT3


def by_mass(*pairs: tuple[float, float]) -> float:
    return 1 / sum(share / density for share, density in pairs)


def by_volume(*pairs: tuple[float, float]) -> float:
    return sum(share * density for share, density in pairs)


# Invented: job, resin, lb/h, hours, virgin and regrind in lb/ft3, percent of regrind.
_HALL = (
    ("Bin", "ABS", 220, 3.5, 40, 28, 30), ("Tub", "ABS", 96, 3, 39, 26, 20),
    ("Lid", "PC", 60, 4, 42, 30, 10), ("Hub", "PBT", 180, 4, 48, 33, 15),
    ("Rim", "ABS", 75, 3, 40, 28, 25), ("Cap", "PC", 110, 4, 41, 29, 5),
    ("Fan", "ABS", 140, 3, 38, 27, 40), ("Arm", "PBT", 52, 4, 47, 31, 12),
    ("Box", "ABS", 300, 3, 40, 28, 33), ("Pin", "PC", 18, 4, 42, 30, 8),
    ("Bar", "ABS", 205, 3, 39, 27, 22), ("Cup", "ABS", 80, 3, 40, 28, 18),
    ("Rod", "PC", 66, 4, 42, 30, 6), ("Jug", "ABS", 155, 3, 39, 27, 28),
    ("Cog", "PBT", 33, 4, 47, 32, 9),
)  # fmt: skip
#: Invented: grams of a shot, seconds of a cycle.
_SHOTS = ((450, 36), (212.4, 38), (88, 24), (640, 52), (31.5, 18), (120, 30), (905, 61), (54, 22))

LISTS = [
    # --- units --------------------------------------------------------------------------------
    Messy(
        "a bare rate beside a metric density",
        "Job,Throughput,Drying hours,Bulk density (kg/L)\nCrate,45,4,0.61\nTray,62,3,0.58\n",
        "is 'Throughput' in kg/h or lb/h?",
    ),
    Messy(
        "the same, answered by --units",
        "Job,Throughput,Drying hours,Bulk density (kg/L)\nCrate,45,4,0.61\nTray,62,3,0.58\n",
        {"Crate": kg(45, 4, 0.61), "Tray": kg(62, 3, 0.58)},
        options={"units": "metric"},
        told=("--units",),
    ),
    Messy(
        "US units where nothing says otherwise",
        "Job,Throughput,Drying hours,Bulk density\nCrate,220,3.5,36.4\nTray,90,3,38\n",
        {"Crate": lb(220, 3.5, 36.4), "Tray": lb(90, 3, 38)},
        told=("lb/h, default", "lb/ft3, default"),
    ),
    Messy(
        "no unit at all, but the density can only be metric",
        "Job,Throughput,Drying hours,Bulk density\nCrate,45,4,0.61\nTray,62,3,0.58\n",
        "is 'Throughput' in kg/h or lb/h?",
    ),
    Messy(
        "bare density beside a metric rate: only one reading is possible",
        "Part,Output (kg/h),Dry time (h),Bulk density\nHub,45,4,0.61\nRim,62,3,0.58\n",
        {"Hub": (kg(45, 4, 0.61), "kg/L"), "Rim": (kg(62, 3, 0.58), "kg/L")},
    ),
    Messy(
        "bare and united cells in one column",
        "Job,Throughput,Drying hours,Virgin density [lb/ft3]\nHub,220,3.5,38\nRim,45 kg/h,3,38\n",
        "'Throughput'",
    ),
    Messy(
        "every cell with its own unit, of both systems",
        "Job,Throughput,Drying hours,Virgin density\nHub,220 lb/h,3.5 h,38 lb/ft3\n"
        'Rim,"45,5 kg/h",210 min,0.61 g/cm3\nLid,0.5 t/h,3 hrs,610 kg/m3\n',
        {
            "Hub": lb(220, 3.5, 38),
            "Rim": kg(45.5, 3.5, 0.61),
            "Lid": kg(500, 3, 0.61),
        },
    ),
    Messy(
        "a row of units below the headings",
        "Job;Durchsatz;Trocknungszeit;Schüttdichte\n;kg/h;h;kg/l\nNabe;45,5;4;0,61\n"
        "Felge;62;3;0,58\n",
        {"Nabe": kg(45.5, 4, 0.61), "Felge": kg(62, 3, 0.58)},
        told=("units row", "row 2"),
    ),
    Messy(
        "units in square and round brackets in a row of their own",
        "Part\tRate\tDry time\tBulk density\n[-]\t[lb/hr]\t(h)\t[lb/cu ft]\nHub\t220\t3.5\t38\n",
        {"Hub": lb(220, 3.5, 38)},
        ending=".tsv",
    ),
    Messy(
        "a column of units",
        "Job,Throughput,Unit,Drying hours,Bulk density (kg/L)\nHub,45,kg/h,4,0.61\n"
        "Rim,99,lb/h,3,0.58\n",
        {"Hub": kg(45, 4, 0.61), "Rim": kg(99 * LB, 3, 0.58)},
        told=("'Unit'",),
    ),
    Messy(
        "the German words, with a bare rate",
        "Auftrag;Leistung;Trocknungszeit;Schüttdichte (kg/l)\n4711;45;4;0,61\n4712;62;3;0,58\n",
        "is 'Leistung' in kg/h or lb/h?",
    ),
    Messy(
        "the German words",
        "Auftrag;Leistung (kg/h);Trocknungszeit;Schuettdichte (kg/l);Mahlgutanteil;Bemerkung\n"
        "4711;45,5;4;0,61;20;eilig\n4712;62;3;0,58;0;\n4713;20;3,5;0,6;50;\nSumme;127,5;;;;\n",
        {
            "4711": (kg(45.5, 4, by_volume((0.8, 0.61), (0.2, 0.305))), "half of virgin"),
            "4712": kg(62, 3, 0.58),
            "4713": (kg(20, 3.5, by_volume((0.5, 0.6), (0.5, 0.3))), "by volume"),
        },
        told=("'Summe'", "percent"),
    ),
    Messy(
        "the French words",
        "Pièce;Matière;Débit (kg/h);Temps de séchage (h);Densité apparente (kg/l)\n"
        "Bac;ABS;45,5;3;0,62\nGodet;PC;30;4;0,66\nSomme;75,5;;;\n",
        {"Bac": kg(45.5, 3, 0.62), "Godet": kg(30, 4, 0.66)},
        told=("not jobs",),
    ),
    Messy(
        "the Spanish words",
        "Pieza;Material;Caudal (kg/h);Tiempo de secado (h);Densidad aparente (kg/l);% molido\n"
        "Caja;ABS;45,5;3;0,62;25\nTapa;PC;30;4;0,66;0\nSuma;75,5;;;;\n",
        {
            # The resin table has 0.415 over 0.62 for ABS, and this virgin is 0.62.
            "Caja": (kg(45.5, 3, by_volume((0.75, 0.62), (0.25, 0.415))), "resin table's ratio"),
            "Tapa": kg(30, 4, 0.66),
        },
    ),
    Messy(
        "pounds per day",
        "Job,lbs per day,Dry hours,Bulk density (lb/ft3)\nHub,5280,3.5,38\nRim,2400,3,38\n",
        {"Hub": (lb(220, 3.5, 38), "24 h"), "Rim": (lb(100, 3, 38), "24 h")},
    ),
    Messy(
        "kilograms per shift",
        "Job,Throughput (kg/shift),Drying hours,Bulk density (kg/L)\nHub,360,4,0.61\n",
        "shift",
    ),
    Messy(
        "pounds written with the sign #",
        "Job,Throughput (#/h),Drying hours,Bulk density (#/ft3)\nHub,220,3.5,38\nRim,100 #/hr,3,38\n",
        {"Hub": lb(220, 3.5, 38), "Rim": lb(100, 3, 38)},
    ),
    Messy(
        "a metric unit in the title only",
        "All weights in kg\n\nJob,Throughput,Drying hours,Bulk density\nHub,45,4,36\nRim,62,3,38\n",
        "kg/h or lb/h",
    ),
    Messy(
        "units in brackets and after a comma, mixed case",
        'Job,"Throughput, KG/H",DRY TIME [min],bulk density {g/cm³}\nHub,45,240,0.61\n',
        {"Hub": kg(45, 4, 0.61)},
    ),
    Messy(
        "density in kg/m3, hours in minutes",
        "Job,Throughput (kg/h),Drying time (min),Bulk density (kg/m3)\nHub,45,240,610\n",
        {"Hub": kg(45, 4, 0.61)},
    ),
    Messy(
        "tons per hour are ambiguous",
        "Job,Throughput (ton/h),Drying hours,Bulk density (kg/L)\nHub,0.5,4,0.61\n",
        "ton",
    ),
    Messy(
        "a drying time that may be minutes",
        "Job,Rate (lb/h),Dry time,Bulk density (lb/ft3)\nHub,220,60,38\nRim,100,45,38\n",
        "'Dry time' in hours or minutes",
    ),
    # --- decimal signs ------------------------------------------------------------------------
    Messy(
        "a German paste: 1.250 is proven to be 1250 by 45,5",
        "Auftrag\tDurchsatz (kg/h)\tTrocknungszeit (h)\tSchüttdichte (kg/l)\n"
        "A\t45,5\t4\t0,61\nB\t1.250\t4\t0,6\n",
        {"A": kg(45.5, 4, 0.61), "B": kg(1250, 4, 0.6)},
        ending=".tsv",
        told=("decimal comma",),
    ),
    Messy(
        "1.250 that nothing proves",
        "Job\tThroughput (kg/h)\tDrying hours\tBulk density (kg/m3)\nA\t45\t4\t610\nB\t1.250\t4\t600\n",
        {"A": kg(45, 4, 0.61), "B": "no: '1.250'"},
        ending=".tsv",
    ),
    Messy(
        "a job called 10.1 proves nothing",
        "Job\tThroughput (kg/h)\tDrying hours\tBulk density (kg/m3)\n10.1\t45\t4\t610\n"
        "10.2\t1.250\t4\t600\n",
        {"10.1": kg(45, 4, 0.61), "10.2": "no: '1.250'"},
        ending=".tsv",
    ),
    Messy(
        "1,250 is proven to be 1250 by 45.5",
        'Job,Throughput (lb/h),Drying hours,Bulk density (lb/ft3)\nA,45.5,4,38\nB,"1,250",4,38\n',
        {"A": lb(45.5, 4, 38), "B": lb(1250, 4, 38)},
        as_range=False,  # a number in a cell has no decimal sign
    ),
    Messy(
        "1,250 that nothing proves",
        'Job,Throughput (lb/h),Drying hours,Bulk density (lb/ft3)\nA,45,4,38\nB,"1,250",4,38\n',
        {"A": lb(45, 4, 38), "B": "no: '1,250'"},
    ),
    Messy(
        "hours of 4.000 prove the point, because 4000 h are impossible",
        "Job,Throughput (kg/h),Drying hours,Bulk density (kg/L)\nA,1.250,4.000,0.610\n",
        {"A": kg(1.25, 4, 0.61)},
    ),
    Messy(
        "both signs prove themselves: only the doubtful cell is refused",
        "Job;Throughput (kg/h);Drying hours;Bulk density (kg/L)\nA;45,5;4;0.61\nB;1.250;4;0.6\n",
        {"A": kg(45.5, 4, 0.61), "B": "no: '1.250'"},
        as_range=False,  # a number in a cell has no decimal sign
    ),
    Messy(
        "Swiss and French thousands",
        "Job;Throughput (kg/h);Drying hours;Bulk density (kg/L)\nA;1 250,5;4;0,61\nB;1.250,5;4;0,6\n",
        {"A": kg(1250.5, 4, 0.61), "B": kg(1250.5, 4, 0.6)},
    ),
    # --- percent or fraction --------------------------------------------------------------------
    Messy(
        "fractions under a percent heading",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),% regrind\nA,220,3.5,40,0.25\nB,90,3,40,0.1\n",
        "'% regrind'",
    ),
    Messy(
        "percentages with one that may be a fraction",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),regrind %\n"
        "A,220,3.5,40,28,25\nB,90,3,40,28,10\nC,90,3,40,28,1\nD,90,3,40,28,0.5\n",
        {
            "A": (lb(220, 3.5, by_volume((0.75, 40), (0.25, 28))), "by volume"),
            "B": (lb(90, 3, by_volume((0.9, 40), (0.1, 28))), "by volume"),
            "C": "no: 1 % or 100 %",
            "D": "no: 0.5 % or 50 %",
        },
    ),
    Messy(
        "fractions",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),regrind share\n"
        "A,220,3.5,40,28,0.3\nB,90,3,40,28,1\nC,90,3,40,28,0\n",
        {
            "A": (lb(220, 3.5, by_volume((0.7, 40), (0.3, 28))), "by volume"),
            "B": lb(90, 3, 28),
            "C": lb(90, 3, 40),
        },
        told=("fraction",),
    ),
    Messy(
        "percent signs in the cells",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),regrind,basis\n"
        "A,220,3.5,40,28,30 %,mass\nB,90,3,40,28,0.5%,mass\nC,90,3,40,28,1%,by weight\n",
        {
            "A": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28))),
            "B": lb(90, 3, by_mass((0.995, 40), (0.005, 28))),
            "C": lb(90, 3, by_mass((0.99, 40), (0.01, 28))),
        },
    ),
    Messy(
        "both shares prove the percentages",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),virgin %,regrind %\n"
        "A,220,3.5,40,28,70,30\nB,90,3,40,28,99,1\nC,90,3,40,28,99.5,0.5\n",
        {
            "A": (lb(220, 3.5, by_volume((0.7, 40), (0.3, 28))), "by volume"),
            "B": (lb(90, 3, by_volume((0.99, 40), (0.01, 28))), "by volume"),
            "C": (lb(90, 3, by_volume((0.995, 40), (0.005, 28))), "by volume"),
        },
    ),
    Messy(
        "weight percent in the heading is a basis",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),regrind wt%\n"
        "A,220,3.5,40,28,30\n",
        {"A": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28)))},
        told=("by mass",),
    ),
    Messy(
        "volume percent, the German way",
        "Auftrag;Durchsatz (kg/h);Trocknungszeit (h);Schüttdichte (kg/l);Mahlgut (Vol.-%);"
        "Schüttdichte Mahlgut (kg/l)\nA;45;4;0,6;30;0,4\n",
        {"A": kg(45, 4, by_volume((0.7, 0.6), (0.3, 0.4)))},
        told=("by volume",),
    ),
    Messy(
        "flags in the regrind column",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind\nA,220,3.5,40,1\nB,90,3,40,0\n",
        "'regrind'",
    ),
    Messy(
        "a ratio of virgin to regrind",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),virgin/regrind\n"
        "A,220,3.5,40,28,70/30\nB,90,3,40,28,80:20\nC,90,3,40,28,100/0\n",
        {
            "A": (lb(220, 3.5, by_volume((0.7, 40), (0.3, 28))), "by volume"),
            "B": (lb(90, 3, by_volume((0.8, 40), (0.2, 28))), "by volume"),
            "C": lb(90, 3, 40),
        },
    ),
    Messy(
        "a ratio under a heading that does not say which comes first",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),blend\n"
        "A,220,3.5,40,28,70/30\nB,90,3,40,28,\n",
        {"A": "no: which", "B": (lb(90, 3, 40), "virgin")},
    ),
    Messy(
        "a recipe in words",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),mix\n"
        "A,220,3.5,40,28,30% RG\nB,90,3,40,28,100% virgin\nC,90,3,40,28,80% virgin 20% regrind\n",
        {
            "A": (lb(220, 3.5, by_volume((0.7, 40), (0.3, 28))), "by volume"),
            "B": lb(90, 3, 40),
            "C": (lb(90, 3, by_volume((0.8, 40), (0.2, 28))), "by volume"),
        },
    ),
    Messy(
        "regrind named in the note of a job",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),Notes\nA,220,3.5,40,with 30% regrind\n"
        "B,90,3,40,rush\n",
        {"A": "no: 'with 30% regrind'", "B": (lb(90, 3, 40), "100 % virgin")},
    ),
    Messy(
        "glass fiber is no recipe",
        "Job,Resin,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,PA66 30% GF,220,3.5,46\n",
        {"A": (lb(220, 3.5, 46), "100 % virgin")},
    ),
    Messy(
        "blank shares",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind %,regrind density (lb/ft3)\n"
        "A,220,3.5,40,,28\nB,90,3,40,30,\nC,90,3,40,20,28\n",
        {
            "A": (lb(220, 3.5, 40), "virgin"),
            "B": (lb(90, 3, by_volume((0.7, 40), (0.3, 20))), "half of virgin"),
            "C": (lb(90, 3, by_volume((0.8, 40), (0.2, 28))), "by volume"),
        },
    ),
    Messy(
        "shares that do not add up",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),virgin %,regrind %\nA,220,3.5,40,60,30\n"
        "B,90,3,40,100,0\n",
        {"A": "no: 90", "B": lb(90, 3, 40)},
    ),
    # --- recipe words that are not read ---------------------------------------------------------
    *[
        Messy(
            f"an unread column {heading}",
            f"Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),{heading}\nA,220,3.5,40,25\n",
            f"'{heading}'",
        )
        for heading in (
            "PCR %",
            "recycled %",
            "% masterbatch",
            "reprocessed",
            "Rezyklat %",
            "% recyclé",
            "color %",
        )
    ],
    *[
        Messy(
            f"regrind called {heading}",
            "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),"
            f"{heading}\nA,220,3.5,40,28,30\nB,90,3,40,28,10\n",
            {
                "A": (lb(220, 3.5, by_volume((0.7, 40), (0.3, 28))), "by volume"),
                "B": (lb(90, 3, by_volume((0.9, 40), (0.1, 28))), "by volume"),
            },
        )
        for heading in ("re-grind %", "Mahlgut %", "RG %", "% Regrind content", "% rebroyé")
    ],
    Messy(
        "harmless percentages pass",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),discount %,moisture %,scrap %\n"
        "A,220,3.5,40,5,0.2,3\n",
        {"A": (lb(220, 3.5, 40), "100 % virgin")},
        told=("discount %",),
    ),
    Messy(
        "an unread percentage that the user lets pass",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),color %\nA,220,3.5,40,2\n",
        {"A": (lb(220, 3.5, 40), "100 % virgin")},
        options={"ignore": ("color %",)},
        as_range=False,
    ),
    # --- components ------------------------------------------------------------------------------
    Messy(
        "three components by mass",
        "Job,Throughput (kg/h),Drying hours,virgin %,regrind %,masterbatch %,virgin density (kg/L),"
        "regrind density (kg/L),masterbatch density (kg/L),share basis\n"
        "A,45,4,70,26,4,0.6,0.4,0.9,mass\n",
        {"A": kg(45, 4, by_mass((0.7, 0.6), (0.26, 0.4), (0.04, 0.9)))},
    ),
    Messy(
        "three components by volume, virgin as the rest",
        "Job,Throughput (kg/h),Drying hours,regrind %,masterbatch %,virgin density (kg/L),"
        "regrind density (kg/L),masterbatch density (kg/L),share basis\n"
        "A,45,4,26,4,0.6,0.4,0.9,volume\nB,45,4,0,0,0.6,0.4,0.9,volume\n",
        {
            "A": kg(45, 4, by_volume((0.7, 0.6), (0.26, 0.4), (0.04, 0.9))),
            "B": kg(45, 4, 0.6),
        },
    ),
    # --- what is no job --------------------------------------------------------------------------
    *[
        Messy(
            f"a last row called {word}",
            f"Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nB,90,3,38\n{word},310,,\n",
            {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38)},
            told=(f"'{word}'",),
        )
        for word in ("Total", "Summe", "Gesamt:", "Somme", "Suma", "Grand total", "Average")
    ],
    Messy(
        "a total with hours and a density dragged down",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nB,90,3.5,40\nTotal,310,3.5,40\n",
        {"A": lb(220, 3.5, 40), "B": lb(90, 3.5, 40)},
        told=("'Total'",),
    ),
    Messy(
        "a sum without a word",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nB,90,3.5,40\n,310,,\n",
        {"A": lb(220, 3.5, 40), "B": lb(90, 3.5, 40)},
        told=("the sum of rows 2 to 3",),
    ),
    Messy(
        "sections, subtotals, notes and repeated headings",
        "Hall 1,,,\nJob,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nNorth,,,\nA,220,3.5,40\n"
        "Subtotal,220,,\n,,,\nSouth,,,\nJob,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\n"
        "B,90,3,38\nSubtotal,90,,\n* rates as of last week,,,\n",
        {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38)},
        told=("'North'", "'South'", "headings"),
    ),
    # --- headings --------------------------------------------------------------------------------
    Messy(
        "groups of headings over two rows",
        ",,Drying,,Bulk density (lb/ft3),\nJob,Rate (lb/h),Temp (°F),Time (h),virgin,regrind\n"
        "A,220,180,3.5,40,28\n",
        {"A": (lb(220, 3.5, 40), "100 % virgin")},
        told=("Temp",),
        as_range=False,
    ),
    Messy(
        "Hours alone is asked about",
        "Job,Rate (lb/h),Hours,Bulk density (lb/ft3)\nA,220,3.5,40\n",
        "'Hours'",
    ),
    Messy(
        "Hours, named by the user",
        "Job,Rate (lb/h),Hours,Bulk density (lb/ft3)\nA,220,3.5,40\n",
        {"A": lb(220, 3.5, 40)},
        options={"columns": {"drying hours": "Hours"}},
        as_range=False,
    ),
    Messy(
        "Density that can only be a bulk density",
        "Job,Output (kg/h),Drying (h),Density (g/cc)\nA,45,4,0.61\nB,62,3,0.58\n",
        {"A": kg(45, 4, 0.61), "B": kg(62, 3, 0.58)},
        told=("solid",),
    ),
    Messy(
        "Density that is that of the solid",
        "Job,Output (kg/h),Drying (h),Density (g/cc)\nA,45,4,1.05\nB,62,3,1.2\n",
        "'Density (g/cc)'",
    ),
    Messy(
        "a line break and stray blanks in a heading",
        'Job,"Through-put\n(lb/h)","Drying  hours ","Bulk\ndensity (lb/ft3)"\nA,220,3.5,40\n',
        {"A": lb(220, 3.5, 40)},
    ),
    Messy(
        "two rates",
        "Job,Output (lb/h),Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,180,3.5,40\n",
        "'Output (lb/h)' and 'Rate (lb/h)'",
    ),
    # --- formats of text --------------------------------------------------------------------------
    Messy(
        "pipes",
        "| Job | Rate (lb/h) | Dry hours | Bulk density (lb/ft3) |\n|---|---:|---|---|\n"
        "| A | 220 | 3.5 | 40 |\n| B | 90 | 3 | 38 |\n",
        {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38)},
        ending=".txt",
    ),
    Messy(
        "aligned with blanks, one cell empty",
        "Job        Resin   Rate (lb/h)  Dry hours  Bulk density (lb/ft3)\n"
        "Hub, big   ABS     220          3.5        40\n"
        "Rim                90           3          38\n"
        "Lid small  PC      60           4          42\n",
        {"Hub, big": lb(220, 3.5, 40), "Rim": lb(90, 3, 38), "Lid small": lb(60, 4, 42)},
        ending=".txt",
    ),
    Messy(
        "clock times and fractions",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind,regrind density (lb/ft3),basis\n"
        "A,220,4:30,40,1/3,28,mass\nB,90,3:00,38,1/4,28,volume\nC,90,3 1/2,38,0,28,mass\n",
        {
            "A": lb(220, 4.5, by_mass((2 / 3, 40), (1 / 3, 28))),
            "B": lb(90, 3, by_volume((0.75, 38), (0.25, 28))),
            "C": lb(90, 3.5, 38),
        },
        told=("clock",),
    ),
    Messy(
        "ranges are refused, guesses marked",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,4-6,40\nB,ca. 90,3,38\nC,90,3,38\n",
        {"A": "no: range", "B": (lb(90, 3, 38), "rough figure"), "C": lb(90, 3, 38)},
    ),
    # --- gaps -------------------------------------------------------------------------------------
    Messy(
        "a resin is enough",
        "Job,Resin,Output (kg/h)\nA,PC,45\nB,Blend 12,30\nC,nylon,30\n",
        {"A": (kg(45, 4, 0.67), "resin table"), "B": "no: 'Blend 12'", "C": "no: several resins"},
    ),
    Messy(
        "a rate from shots",
        "Job,Shot mass (g),Cycle time (s),Drying hours,Bulk density (kg/L)\nA,450,36,4,0.61\n",
        {"A": (kg(45, 4, 0.61), "450 g")},
    ),
    Messy(
        "a rate from parts",
        "Job,Parts/h,Part weight (g),Drying hours,Bulk density (kg/L)\nA,300,150,4,0.61\nB,200,90,3,0.6\n",
        {"A": (kg(45, 4, 0.61), "300"), "B": (kg(18, 3, 0.6), "200")},
    ),
    # --- a second batch, found by throwing lists at the reader ------------------------------------
    Messy(
        "shares called V/R",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),V/R\nA,220,3.5,40,70/30\n",
        {"A": (lb(220, 3.5, by_volume((0.7, 40), (0.3, 20))), "half of virgin")},
    ),
    Messy(
        "shares under a heading that says nothing",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),Split\nA,220,3.5,40,70/30\n",
        "'Split'",
    ),
    Messy(
        "regrind in the name of the resin",
        "Job,Resin,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,ABS 30% RG,220,3.5,40\n"
        "B,ABS regrind,90,3,40\nC,ABS virgin,90,3,40\n",
        {"A": "no: 'ABS 30% RG'", "B": "no: 'ABS regrind'", "C": (lb(90, 3, 40), "100 % virgin")},
    ),
    Messy(
        "regrind in the name of the job",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nBox 25% regrind,220,3.5,40\n",
        {"Box 25% regrind": "no: 'Box 25% regrind'"},
    ),
    Messy(
        "no regrind, in words",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),Regrind,regrind density (lb/ft3),basis\n"
        "A,220,3.5,40,none,28,mass\nB,90,3,40,20%,28,mass\nC,90,3,40,yes,28,mass\n",
        {
            "A": lb(220, 3.5, 40),
            "B": lb(90, 3, by_mass((0.8, 40), (0.2, 28))),
            "C": "no: 'yes'",
        },
    ),
    Messy(
        "a rate per day in the cells",
        "Job,Rate,Dry hours,Bulk density (lb/ft3)\nA,5280 lb/day,3.5,40\n",
        {"A": (lb(220, 3.5, 40), "24 h")},
    ),
    Messy(
        "a reserve that may be 10 % or 0.1 %",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),reserve\nA,220,3.5,40,10\nB,90,3,40,0.1\n",
        {"A": lb(220, 3.5, 40, 0.1), "B": "no: 0.1 % or 10 %"},
        told=("percent",),
    ),
    Messy(
        "a number of machines",
        "Job,Rate (lb/h),Machines,Dry hours,Bulk density (lb/ft3)\nA,220,3,3.5,40\n",
        {"A": (lb(220, 3.5, 40), "all machines together")},
    ),
    Messy(
        "the trade's short words",
        "Job,PPH,Dry hrs,BD (pcf)\nA,220,3.5,38\n",
        {"A": lb(220, 3.5, 38)},
    ),
    Messy(
        "parts, cavities and a cycle",
        "Job,Part weight (g),Cavities,Cycle (s),Dry hours,Bulk density (kg/L)\nA,50,4,36,3.5,0.6\n",
        {"A": (kg(20, 3.5, 0.6), "4 parts of 50 g every 36 s, without runners")},
    ),
    Messy(
        "parts and a cycle, but not how many a shot",
        "Job,Part weight (g),Cycle (s),Dry hours,Bulk density (lb/ft3)\nA,50,36,3.5,40\n",
        "'part mass' alone give no throughput, these would: shot mass, cycle time",
        as_range=False,
    ),
    Messy(
        "scrap returned is regrind",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),scrap return %\nA,220,3.5,40,15\n",
        "'scrap return %'",
    ),
    # --- what deserves a look -----------------------------------------------------------------------
    Messy(
        "regrind denser than virgin",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),regrind %,basis\n"
        "A,220,3.5,28,40,30,mass\n",
        {"A": (lb(220, 3.5, by_mass((0.7, 28), (0.3, 40))), "denser than virgin")},
    ),
    Messy(
        "unusual hours, and a density far from the resin's",
        "Job,Resin,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,PC,220,20,40\nB,PC,220,4,20\n",
        {"A": (lb(220, 20, 40), "20 h"), "B": (lb(220, 4, 20), "PC")},
    ),
    # --- a third batch, thrown by somebody who had not seen the reader ------------------------------
    Messy(
        "the basis in a line above the list",
        "Drying list - all blend ratios by weight,,,,,\n"
        "Job,Regrind %,Rate lb/h,Dry h,Virgin density lb/ft3,Regrind density lb/ft3\n"
        "A,30,220,3.5,40,28\n",
        {"A": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28)))},
        told=("by mass", "above the list: 'Drying list - all blend ratios by weight'"),
        as_range=False,
    ),
    Messy(
        "the basis in a note below the list",
        "Job,Regrind %,Rate lb/h,Dry h,Virgin density lb/ft3,Regrind density lb/ft3\n"
        "A,30,220,3.5,40,28\n,,,,,\n* regrind by weight,,,,,\n",
        {"A": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28)))},
        told=("by mass", "row 4: '* regrind by weight'"),
    ),
    Messy(
        "a heading and a note that contradict each other",
        "Job,Regrind wt%,Rate lb/h,Dry h,Virgin density lb/ft3,Regrind density lb/ft3\n"
        "A,30,220,3.5,40,28\n* all shares by volume,,,,,\n",
        "different share bases",
    ),
    Messy(
        "the unit of the rates in a line above the list",
        "All rates in kg/h; hall takes up to 9000 lb/h,,,\nJob,Rate,Dry hours,Bulk density (kg/L)\n"
        "A,45,4,0.61\n",
        {"A": kg(45, 4, 0.61)},
        told=("kg/h, line above the list",),
        as_range=False,
    ),
    *[
        Messy(
            f"a last row called {word}, with all figures",
            f"Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nB,90,3,38\n"
            f"{word},310,3.5,40\n",
            {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38)},
            told=(f"'{word}'",),
        )
        for word in ("Total g\u00e9n\u00e9ral", "Total general", "Overall", "Sous-total")
    ],
    Messy(
        "a job whose rate is the sum of the rows above",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nB,90,3,38\n"
        "Building A,310,3.5,40\n",
        {
            "A": lb(220, 3.5, 40),
            "B": lb(90, 3, 38),
            "Building A": (lb(310, 3.5, 40), "the sum of rows 2 to 3: a total?"),
        },
    ),
    Messy(
        "the same without a name",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nB,90,3,38\n,310,3.5,40\n",
        {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38)},
        told=("the sum of rows 2 to 3",),
    ),
    Messy(
        "the mass of a shot without a unit",
        "Job,Cycle,Shot weight,Dry h,Bulk density (lb/ft3)\nA,30,1.2,3.5,40\n",
        "is 'Shot weight' in g, kg, oz or lb",
    ),
    Messy(
        "the mass of a shot without a unit, in a metric list",
        "Job,Cycle,Shot weight,Dry h,Bulk density (kg/L)\nA,36,450,4,0.61\n",
        {"A": (kg(45, 4, 0.61), "450 g")},
        told=("g, default",),
    ),
    Messy(
        "shots an hour",
        "Job,Shots/hr,Shot size (g),Dry h,Bulk density (kg/L)\nA,100,450,4,0.61\n",
        {"A": (kg(45, 4, 0.61), "100 shots of 450 g an hour")},
    ),
    Messy(
        "shots and parts: the shot has its runner",
        "Job,Parts per hour,Part weight (g),Shots per hour,Shot weight (g),Dry h,"
        "Bulk density (kg/L)\nA,240,150,60,640,4,0.6\n",
        {"A": (kg(38.4, 4, 0.6), "60 shots of 640 g")},
        told=("Parts per hour",),
    ),
    *[
        Messy(
            f"an unread column {heading}",
            f"Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),{heading}\nA,220,3.5,40,3\n",
            f"'{heading}'",
        )
        for heading in ("Let-down ratio", "LDR", "nucleating agent", "slip agent", "UV")
    ],
    Messy(
        "at least four hours is no row of a minimum",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,min 4,40\nB,90,max 6 h,40\n"
        "Max,220,,\n",
        {"A": (lb(220, 4, 40), "'min 4' is a rough figure"), "B": "no: 'max 6 h'"},
        told=("'Max'",),
    ),
    Messy(
        "one cell a day",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nB,5280 lb/day,3.5,40\n",
        {"A": (lb(220, 3.5, 40), ""), "B": (lb(220, 3.5, 40), "24 h")},
    ),
    Messy(
        "regrind by mass, in one German word",
        "Auftrag;Durchsatz (kg/h);Trocknungszeit (h);Sch\u00fcttdichte (kg/l);Mahlgut Massenanteil;"
        "Sch\u00fcttdichte Mahlgut (kg/l)\nA;45;4;0,6;30 %;0,4\n",
        {"A": kg(45, 4, by_mass((0.7, 0.6), (0.3, 0.4)))},
        told=("by mass",),
    ),
    Messy(
        "the basis as a unit in the cells",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind density (lb/ft3),regrind %,basis\n"
        "A,220,3.5,40,28,30,w/w\nB,220,3.5,40,28,30,% v/v\nC,220,3.5,40,28,30,Gew.-%\n"
        "D,220,3.5,40,28,30,x\n",
        {
            "A": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28))),
            "B": lb(220, 3.5, by_volume((0.7, 40), (0.3, 28))),
            "C": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28))),
            "D": 'no: \'x\' is not "volume" or "mass"',
        },
    ),
    Messy(
        "three parts to one",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),virgin,regrind\nA,220,3.5,40,3,1\n"
        "B,90,3,40,4,1\n",
        {"A": "no: the shares 3 and 1 add up to neither", "B": "no: the shares 4 and 1"},
    ),
    Messy(
        "pounds per shift",
        "Job,Rate (lbs/shift),Dry hours,Bulk density (lb/ft3)\nA,1760,3.5,40\n",
        "a shift has no fixed length",
    ),
    Messy(
        "the same rate in two units, one let pass",
        "Job,Throughput kg/h,Throughput lb/h,Dry h,Bulk density (kg/L)\nA,45,99.2,4,0.61\n",
        {"A": kg(45, 4, 0.61)},
        options={"ignore": ("Throughput lb/h",)},
        as_range=False,
    ),
    Messy(
        "the same rate in two units",
        "Job,Throughput kg/h,Throughput lb/h,Dry h,Bulk density (kg/L)\nA,45,99.2,4,0.61\n",
        '--ignore "Throughput lb/h"',
    ),
    Messy(
        "grams the Spanish way",
        "Job,Output (kg/h),Dry h,Bulk density (gr/cm3)\nA,45,4,0.61\n",
        {"A": kg(45, 4, 0.61)},
        told=("g/cm3",),
    ),
    Messy(
        "pounds per shift, insisted upon",
        "Job,Rate (lbs/shift),Dry hours,Bulk density (lb/ft3)\nA,1760,3.5,40\n",
        "a shift has no fixed length",
        options={"columns": {"throughput": "Rate (lbs/shift)"}},
        as_range=False,
    ),
    Messy(
        "a heading with a unit of something else, insisted upon",
        "Job,Rate (kg),Dry hours,Bulk density (kg/L)\nA,45,4,0.61\n",
        "'Rate (kg)' names 'kg', which is no unit of throughput",
        options={"columns": {"throughput": "Rate (kg)"}},
        as_range=False,
    ),
    Messy(
        "a title between the rows with another unit",
        "Job,Throughput (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\nLine 2 (kg/h),,,\n"
        "B,45,4,38\nLine 3 (lb/hr),,,\nC,90,3,38\n",
        {
            "A": lb(220, 3.5, 40),
            "B": "no: row 3 says 'Line 2 (kg/h)', but 'Throughput (lb/h)' is read in lb/h",
            "C": lb(90, 3, 38),
        },
    ),
    Messy(
        "a row with cells in unread columns alone",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),Sizes,Prices\nA,220,3.5,40,12,4360\n"
        ",,,,20,5890\n",
        {"A": lb(220, 3.5, 40)},
        told=("columns alone that are not read",),
    ),
    Messy(
        "a turned list",
        "Job,A,B\nThroughput (lb/h),220,90\nDrying hours,3.5,3\nVirgin density (lb/ft3),40,38\n",
        "the list is turned",
        as_range=False,
    ),
    # A resin stands in for density and hours only where the list has no such column of its own.
    *[
        Messy(
            f"a density called {heading}",
            f"Job,Resin,Rate (lb/h),Dry hours,{heading}\nA,ABS,220,3.5,40\n",
            {"A": lb(220, 3.5, 40)},
        )
        for heading in (
            "Bulk lb/ft3",
            "pcf",
            "lb/ft3",
            "Bulk weight lb/cu ft",
            "#/ft³",
            "Unit weight lb/ft3",
        )
    ],
    *[
        Messy(
            f"what may be a density, called {heading}",
            f"Job,Resin,Rate (lb/h),Dry hours,{heading}\nA,ABS,220,3.5,40\n",
            f"'{heading}' is not known, though it looks like 'virgin density'",
        )
        for heading in ("Bulk", "Rho", "Max. bulk density (lb/ft3)")
    ],
    *[
        Messy(
            f"what may be the hours, called {heading}",
            f"Job,Resin,Rate (lb/h),{heading},Bulk density (lb/ft3)\nA,ABS,220,3.5,40\n",
            f"'{heading}' is not known, though it looks like 'drying hours'",
        )
        for heading in ("Residence time", "Dwell", "Shift (hrs)", "Time at temp")
    ],
    Messy(
        "what may be the regrind's density",
        "Job,Resin,Rate (lb/h),Dry h,Virgin density (lb/ft3),regrind %,Flake density\n"
        "A,ABS,220,3.5,40,30,22\n",
        "'Flake density' is not known, though it looks like 'regrind density'",
    ),
    Messy(
        "columns that are surely something else",
        "Job,Resin,Rate (lb/h),Dry temp (F),Lead time (days),Solid density (g/cm3)\n"
        "A,ABS,220,180,10,1.05\nB,PC,90,250,10,1.2\n",
        {
            "A": (lb(220, 4, 0.62 / LB_FT3), "resin table"),
            "B": (lb(90, 4, 0.67 / LB_FT3), "resin table"),
        },
    ),
    *[
        Messy(
            f"{rate} and {hours}",
            f"Auftrag;Durchsatz {rate};Trocknungsdauer {hours};Sch\u00fcttdichte kg/l\n"
            "A;1080;4;0,61\nB;1488;3;0,58\n",
            {"A": kg(45, 4, 0.61), "B": kg(62, 3, 0.58)},
        )
        for rate, hours in (
            ("kg/Tag", "[Std.]"),
            ("(kg/jour)", "heures"),
            ("kg/d\u00eda", "Stunden"),
        )
    ],
    Messy(
        "hours, or minutes, or the least",
        "Job,Rate (lb/h),Dry hrs (min),Bulk density (lb/ft3)\nA,220,3.5,40\n",
        "in hours or minutes, or is min the least",
    ),
    Messy(
        "a metric unit in a note below the list",
        "Job,Rate,Dry hours,Bulk density\nA,220,3.5,36\n,,,\nrates in kg/h,,,\n",
        "kg/h or lb/h",
    ),
    Messy(
        "a plain list of a hall: fifteen jobs, all of them with regrind",
        "Hall 3, week 48,,,,,,\n,,,,,,,\n"
        "Job,Resin,Rate (lb/h),Dry hours,Virgin density (lb/ft3),Regrind density (lb/ft3),"
        "Regrind %,Basis\n"
        + "".join(
            f"{name},{resin},{rate},{hours},{virgin},{ground},{share},by weight\n"
            for name, resin, rate, hours, virgin, ground, share in _HALL
        )
        + "Total,1790,,,,,,\n",
        {
            name: lb(rate, hours, by_mass((1 - share / 100, virgin), (share / 100, ground)))
            for name, _, rate, hours, virgin, ground, share in _HALL
        },
        told=("row 19 'Total'",),
        as_range=False,
    ),
    Messy(
        "an export with decimal commas and columns that are nobody's business",
        "Werk;Maschine;Auftrag;Werkstoff;Schussgewicht (g);Zyklus (s);Trockentemperatur (\u00b0C);"
        "Trocknungszeit (h);Sch\u00fcttdichte (kg/l);Liefertermin\n"
        + "".join(
            f"1010;IM-{at:02d};{4700 + at};ABS;{shot:.1f};{cycle};80;3,5;0,62;KW 49\n".replace(
                ".", ","
            )
            for at, (shot, cycle) in enumerate(_SHOTS)
        ),
        {
            str(4700 + at): (kg(shot * 3.6 / cycle, 3.5, 0.62), f"{shot:g} g every {cycle} s")
            for at, (shot, cycle) in enumerate(_SHOTS)
        },
    ),
    # --- a fourth batch ------------------------------------------------------------------------------
    *[
        Messy(
            f"what may be a reserve, called {heading}",
            f"Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),{heading}\nA,220,3.5,40,15\n",
            f"'{heading}' is not known, though it looks like 'reserve'",
        )
        for heading in ("Safety margin %", "Margen de seguridad %", "Growth %", "Design factor")
    ],
    *[
        Messy(
            f"a sum called {name}, with all figures",
            f"Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\nA,220,3.5,40\n{name},220,3.5,40\n"
            "B,90,3,38\nTotal South box,60,3,40\n",
            {"A": lb(220, 3.5, 40), "B": lb(90, 3, 38), "Total South box": lb(60, 3, 40)},
            told=(f"'{name}'",),
        )
        for name in ("Hall A total", "L1 subtotal", "TOTAL LOAD ON CENTRAL DRYER", "Ttl", "Tot.")
    ],
    Messy(
        "a units row that contradicts the heading",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\n,kg/h,h,lb/ft3\nA,220,3.5,40\n",
        "is 'Rate (lb/h)' in lb/h, as the heading says, or in kg/h, as row 2 says",
    ),
    Messy(
        "a units row that says the same as the heading",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3)\n,lbs/hr,hours,pcf\nA,220,3.5,40\n",
        {"A": lb(220, 3.5, 40)},
        told=("units",),
    ),
    Messy(
        "a basis that contradicts the heading",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),Regrind density (lb/ft3),Regrind % by wt,"
        "Basis\nA,220,3.5,40,28,30,volume\nB,220,3.5,40,28,30,mass\n",
        {
            "A": (lb(220, 3.5, by_volume((0.7, 40), (0.3, 28))), "share basis volume, but"),
            "B": lb(220, 3.5, by_mass((0.7, 40), (0.3, 28))),
        },
    ),
    Messy(
        "a blender that weighs, in a column that is not read",
        "Job,Rate (lb/h),Dry hours,Bulk density (lb/ft3),regrind %,Blender\n"
        "A,220,3.5,40,30,gravimetric\n",
        "does 'Blender' say whether the shares are by mass",
    ),
]
