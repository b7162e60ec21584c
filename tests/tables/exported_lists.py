"""Lists of a third hunt: what programs export, machine speeds, and figures that are two figures.

All invented; the form of an expectation, and where the expected volumes come from, as in
``messy_lists``.
"""

from __future__ import annotations

from tables.messy_lists import Messy, by_mass, kg, lb

HEAD = "Job,Throughput (kg/h),Drying hours,Bulk density (kg/L)\n"
#: Two strokes a minute of 120 g are 14.4 kg/h.
STROKES = (
    "CPM", "SPM", "Strokes/min", "Cycles per minute (CPM)", "Machine speed (strokes/min)",
    "Rate (cpm)", "H\u00fcbe/min",
)  # fmt: skip

EXPORTED = [
    *[
        Messy(
            f"strokes a minute: {heading}",
            f"Job,{heading},Shot weight (g),Drying hours,Bulk density (kg/L)\nA,2,120,4,0.6\n",
            {"A": (kg(14.4, 4, 0.6), "2 shots of 120 g a minute")},
        )
        for heading in STROKES
    ],
    # 8 x 15 g + 10 g = 130 g, 120 times an hour: 15.6 kg/h
    Messy(
        "parts, cavities, runner and strokes",
        "Job,Strokes/min,Part weight (g),Cavities,Runner weight (g),Dry h,Bulk density (kg/L)\n"
        "A,2,15,8,10,4,0.6\n",
        {"A": (kg(15.6, 4, 0.6), "8 parts of 15 g and a runner of 10 g a minute")},
    ),
    # 15.6 kg/h again
    *[
        Messy(
            f"a shot in the words of molders: {', '.join(headings)}",
            f"Job,{','.join(headings)},Cycle (s),Dry h,Bulk density (kg/L)\nA,15,8,10,30,4,0.6\n",
            {"A": (kg(15.6, 4, 0.6), "8 parts of 15 g and a runner of 10 g every 30 s")},
        )
        for headings in (
            ("Part wt (g)", "# Cav", "Sprue (g)"),
            ("Teilegewicht (g)", "Formnester", "Anguss (g)"),
            ("Poids pi\u00e8ce (g)", "Nombre d'empreintes", "Carotte (g)"),
            ("Part weight (g)", "Parts per shot", "Runner (g)"),
        )
    ],
    Messy(
        "two shots in one cycle",
        "Job,Shot weight A (g),Shot weight B (g),Cycle (s),Dry h,Bulk density (kg/L)\n"
        "A,80,40,30,4,0.6\n",
        "'cycle time' alone give no throughput",
        as_range=False,  # the function refuses the whole list, as it does without a throughput
    ),
    Messy(
        "a share by wt.",
        "Job,kg/h,Dry h,Regrind % (by wt.),Virgin BD (kg/L),Regrind BD (kg/L)\nA,45,4,30,0.6,0.4\n",
        {"A": kg(45, 4, by_mass((0.7, 0.6), (0.3, 0.4)))},
    ),
    Messy(
        "scrap that comes back",
        f"{HEAD[:-1]},Scrap returned %\nA,45,4,0.6,20\n",
        "what is 'Scrap returned %'? It looks like a part of the recipe",
    ),
    # By mass 1 / (0.7 / 0.6 + 0.3 / 0.4) = 0.522 kg/L; with 0.42 job B would need 428.6 L.
    Messy(
        "a bulk density beside a virgin density is the blend's",
        "Job,kg/h,Dry h,Virgin density (kg/L),Bulk density (kg/L),Regrind %,"
        "Regrind density (kg/L),Basis\nA,45,4,0.6,0.52,30,0.4,mass\nB,45,4,0.6,0.42,30,0.4,mass\n",
        {
            "A": kg(45, 4, by_mass((0.7, 0.6), (0.3, 0.4))),
            "B": (kg(45, 4, by_mass((0.7, 0.6), (0.3, 0.4))), "is 0.42 kg/L, but the shares give"),
        },
    ),
    Messy(
        "numbered headings",
        "1. Job,2. Throughput (kg/h),3. Drying hours,4) Bulk density (kg/L)\nA,45,4,0.6\n",
        {"A": kg(45, 4, 0.6)},
    ),
    Messy(
        "figures that say behind them that they are rough",
        f"{HEAD}A,45 (est.),4,0.6\nB,45 kg/h approx,4,0.6\nC,45,4 h est,0.6\nD,45 ca.,4,0.6\n",
        {job: (kg(45, 4, 0.6), "is a rough figure: its number was taken") for job in "ABCD"},
    ),
    Messy(
        "clock times under a heading that says so",
        "Artikel;Durchsatz (kg/h);Trockenzeit (h:mm);Sch\u00fcttdichte (kg/l)\nA;45;4:30;0,6\n",
        {"A": kg(45, 4.5, 0.6)},
    ),
    Messy(
        "names of a database",
        '"ORDER_NO";"RATE_KG_H";"DRY_TIME_H";"BULK_DENS_G_L"\n'
        '"K471100";"45,000";"4,00";"620,000"\n"K471200";"1.250,000";"4,00";"620,000"\n',
        {"K471100": kg(45, 4, 0.62), "K471200": kg(1250, 4, 0.62)},
    ),
    Messy(
        "names of a program",
        "jobId,throughputLbPerHour,dryingHours,bulkDensity_lb_ft3,regrindPct,regrindDensity,basis\n"
        "1001,220,4,38,25,24,mass\n1002,95.5,4,38,0,,\n",
        {"1001": lb(220, 4, by_mass((0.75, 38), (0.25, 24))), "1002": lb(95.5, 4, 38)},
    ),
    Messy(
        "a recipe in a program's word",
        "job,rate_kg_h,dry_hours,bulk_density_kg_l,PCRPct\nA,45,4,0.6,30\n",
        "what is 'PCRPct'? It looks like a part of the recipe",
    ),
    *[
        Messy(
            f"share basis {basis}",
            "Job,kg/h,Dry h,Virgin density (kg/l),Regrind density (kg/l),Regrind %,Basis\n"
            f"A,45,4,0.6,0.4,25,{basis}\n",
            {"A": kg(45, 4, by_mass((0.75, 0.6), (0.25, 0.4)))},
        )
        for basis in ("Gewicht", "nach Gewicht", "en poids", "masa", "gravimetric")
    ],
    Messy(
        "a rate a day beside the hours of a day",
        "Job,kg/day,Hours per day,Drying hours,Bulk density (kg/L)\nA,720,16,4,0.6\n",
        "how many hours of the day does a job run?",
    ),
    Messy(
        "a rate a day whose hours are let pass",
        "Job,kg/day,Hours per day,Drying hours,Bulk density (kg/L)\nA,720,16,4,0.6\n",
        {"A": (kg(30, 4, 0.6), "spread over 24 h")},
        options={"ignore": ("Hours per day",)},
        as_range=False,
    ),
    *[
        Messy(
            f"a day of shifts: {above or heading}",
            f"{above}Job,{heading},Drying hours,Bulk density (kg/L)\nA,720,4,0.6\n",
            "how many hours of the day does a job run?",
            as_range=not above,
        )
        for above, heading in (("", "kg/day (2 shifts)"), ("2 shifts of 8 h\n", "kg/day"))
    ],
    Messy(
        "three shifts are a whole day",
        "Job,kg/day (3 shifts),Drying hours,Bulk density (kg/L)\nA,720,4,0.6\n",
        {"A": (kg(30, 4, 0.6), "spread over 24 h")},
    ),
    Messy(
        "a reserve as a factor",
        f"{HEAD[:-1]},Reserve\nA,45,4,0.6,1.1\nB,45,4,0.6,1\n",
        "is 1.1 under 'Reserve' 1.1 %, or a factor, 10 % more?",
    ),
    Messy(
        "two figures with a slash",
        f"{HEAD}A,45/60,4,0.6\nB,45,3/4,0.6\nC,45,4 1/2,0.6\n",
        {
            "A": "no: '45/60': a fraction, or from one to the other?",
            "B": "no: '3/4': a fraction, or from one to the other?",
            "C": kg(45, 4.5, 0.6),
        },
    ),
    Messy(
        "signs without width, as web pages have them",
        f"{HEAD}A,\u200b45,4\u200b,\ufeff0.6\n",
        {"A": kg(45, 4, 0.6)},
    ),
    # PC 0.67 kg/L, ABS 0.62 kg/L, both 4 h, in the resin table
    Messy(
        "colors as plants shorten them",
        "Job,Material,Throughput (kg/h)\n"
        "A,PC nat,45\nB,ABS blk,45\nC,ABS-BK,45\nD,ABS GF10 BK,45\n",
        {
            "A": (kg(45, 4, 0.67), "from the resin table"),
            "B": (kg(45, 4, 0.62), "from the resin table"),
            "C": (kg(45, 4, 0.62), "from the resin table"),
            "D": "no: not given",
        },
    ),
]
