"""Lists of a third hunt: what mails, ERP exports and worksheets hold that people send.

All invented; expectations as in ``messy_lists``.
"""

from __future__ import annotations

from tables.messy_lists import Messy, kg

HEAD = "Job,Throughput (kg/h),Drying hours,Bulk density (kg/L)\n"
REGRIND = "Job,Throughput (kg/h),Dry hours,Virgin density (kg/L),Regrind density (kg/L),Regrind\n"
NONE = ("-", "\u2013", "\u2014", "n/a", "none", "keine", "aucun")

SENT = [
    Messy(
        "signs and words for no regrind are marked",
        REGRIND + "A,45,4,0.6,0.4,30 %\n" + "".join(f"{no},45,4,0.6,0.4,{no}\n" for no in NONE),
        {
            "A": kg(45, 4, 0.54),
            **{no: (kg(45, 4, 0.6), f"regrind share '{no}' taken as none") for no in NONE},
        },
    ),
    Messy(
        "a dash for no reserve is marked",
        "Job,kg/h,Dry hours,Bulk density (kg/L),Reserve\nA,45,4,0.6,10 %\nB,45,4,0.6,-\n",
        {"A": kg(45, 4, 0.6) * 1.1, "B": (kg(45, 4, 0.6), "reserve '-' taken as none")},
    ),
    Messy(
        "two shares in a cell are no fraction",
        REGRIND + "A,45,4,0.6,0.4,30/70\nB,45,4,0.6,0.4,1/4\n",
        {"A": "no: '30/70' is two shares", "B": kg(45, 4, 0.75 * 0.6 + 0.25 * 0.4)},
    ),
    # 2 x 60 x 120 g = 14.4 kg/h, 24 x 60 x 25 g = 36 kg/h
    Messy(
        "shots per minute",
        "Job,Shot mass (g),Shots per minute,Dry hours,Bulk density (kg/L)\nA,120,2,4,0.6\n",
        {"A": (kg(14.4, 4, 0.6), "2 shots of 120 g a minute")},
    ),
    Messy(
        "cycles per minute in German",
        "Auftrag;Schussgewicht (g);Takte/min;Trockenzeit (h);Schüttdichte (kg/l)\nA;120;2;4;0,6\n",
        {"A": (kg(14.4, 4, 0.6), "2 shots of 120 g a minute")},
    ),
    Messy(
        "parts per minute",
        "Job,Part weight (g),Parts/min,Dry hours,Bulk density (kg/L)\nA,25,24,4,0.6\n",
        {"A": (kg(36, 4, 0.6), "24 parts of 25 g a minute")},
    ),
    Messy(
        "rules, counts and names that begin like a sum",
        HEAD + "----,----,----,----\nA,45,4,0.6\nSum plug,50,4,0.6\n====,====,====,====\n"
        "Count,2,,\nTotal,95,,\n",
        {"A": kg(45, 4, 0.6), "Sum plug": kg(50, 4, 0.6)},
    ),
    Messy(
        "two tables side by side in different words",
        "Job,kg/h,h,kg/L,,Press,Output kg/h,Drying h,Bulk density kg/L\nA,45,4,0.6,,B,55,3,0.6\n",
        "are these two tables side by side?",
    ),
    Messy(
        "two throughputs in different words",
        "Job,Output (kg/h),lbs per day,Drying hours,Bulk density (kg/L)\nA,45,2400,4,0.6\n",
        "'Output (kg/h)' and 'lbs per day' could both be 'throughput'",
    ),
    *[
        Messy(
            f"a batch is a lot: {cell}",
            f"Job,{heading},Throughput (kg/h),Dry hours,Bulk density (kg/L)\nA,{cell},45,4,0.6\n",
            {"A": kg(45, 4, 0.6)},
            told=(f"{heading} (numbers of lots)",),
        )
        for heading, cell in (("Batch", "L-2201"), ("Batch", "220145"), ("Batch No.", "17"))
    ],
    *[
        Messy(
            f"a batch is masterbatch: {cell}",
            f"Job,Batch,Throughput (kg/h),Drying hours,Bulk density (kg/L)\nA,{cell},45,4,0.6\n",
            "what is 'Batch'?",
        )
        for cell in ("3", "2.5 %", "0.03")
    ],
    Messy(
        "the rest of a lone virgin share is regrind where its density is known",
        "Job,Resin,kg/h,Dry h,Virgin %,Bulk density kg/L,Regrind density kg/L\n"
        "A,,45,4,70,0.6,0.4\nB,,45,4,100,0.6,0.4\nC,,45,4,70,0.6,\nD,PC,45,4,80,0.67,\n",
        {
            "A": (kg(45, 4, 0.54), "the rest, 30 %, taken for regrind"),
            "B": kg(45, 4, 0.6),
            "C": "no: virgin share: 70 %, and nothing says what the other 30 % is",
            # regrind of PC: 0.425 / 0.67 x 0.67 (the resin table)
            "D": (kg(45, 4, 0.8 * 0.67 + 0.2 * 0.425), "the rest, 20 %, taken for regrind"),
        },
    ),
    Messy(
        "resins in German, French and Spanish",
        "Auftrag;Werkstoff;Durchsatz kg/h;Trockenzeit h;Schüttdichte kg/l\nA;Polyamid 6;45;;0,6\n"
        "B;Polykarbonat;45;;0,6\nC;ABS schlagfest;45;;0,6\nD;polypropylène;45;;0,6\n"
        "E;policarbonato;45;;0,6\nF;Polyamid;45;;0,6\nG;PC glasklar;45;;0,6\n",
        {
            # hours of the resin table
            "A": (kg(45, 4, 0.6), "PA6,"), "B": (kg(45, 4, 0.6), "PC,"),
            "C": (kg(45, 4, 0.6), "ABS,"), "D": (kg(45, 2, 0.6), "PP,"),
            "E": (kg(45, 4, 0.6), "PC,"), "F": "no: several resins are called 'Polyamid'",
            "G": "no: PC alone is",
        },
    ),
    Messy(
        "a second list below with more columns",
        HEAD + "A,45,4,0.6\n\nJob,Resin,kg/h,Drying hours,Bulk density (kg/L),Reserve,Regrind\n"
        "B,ABS,45,4,0.6,10 %,0\n",
        {"A": kg(45, 4, 0.6), "Job": "no: 7 cells", "B": "no: 7 cells"},
        as_range=False,
    ),
    Messy(
        "an export with page headers, halls and their totals",
        "Page 1,,,\n" + HEAD + "Hall 1,,,\nA,45,4,0.6\nB,50,4,0.6\nSubtotal Hall 1,95,,\nPage 2\n"
        + HEAD + "Hall 2,,,\nC,60,4,0.6\nD,70,3,0.6\nHall 2 total,130,4,0.6\nGrand total,225,,\n",
        {"A": kg(45, 4, 0.6), "B": kg(50, 4, 0.6), "C": kg(60, 4, 0.6), "D": kg(70, 3, 0.6)},
    ),
    Messy(
        "thousands with spaces and apostrophes",
        "Job;kg/h;Dry h;kg/m3\nA;1 250;4;600\nB;1\u00a0250;4;600\nC;1\u202f250,5;4;600\n"
        "D;1'250;4;600\nE;12\u2019500;4;1 000\n",
        {
            "A": kg(1250, 4, 0.6), "B": kg(1250, 4, 0.6), "C": kg(1250.5, 4, 0.6),
            "D": kg(1250, 4, 0.6), "E": kg(12500, 4, 1.0),
        },
    ),
    Messy(
        "hours in many forms",
        "Job,kg/h,Dry time,kg/L\n"
        "A,45,4h,0.6\nB,45,3h30,0.6\nC,45,3.5hrs,0.6\nD,45,3 hr 30 min,0.6\n"
        "E,45,210 min,0.6\nF,45,3:30,0.6\nG,45,3 1/2,0.6\nH,45,3 - 4 h,0.6\n"
        "I,45,4h/80\u00b0C,0.6\n",
        {
            "A": kg(45, 4, 0.6), **dict.fromkeys("BCDEFG", kg(45, 3.5, 0.6)),
            "H": "no: drying hours", "I": "no: drying hours",
        },
    ),
]  # fmt: skip
