"""What a sized list comes to: jobs by model, list price, near misses, repeats, jobs to share."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from ...cells.quantities import QUANTITIES
from ...cells.values import is_blank
from ...cells.wording import in_system, rounded
from ..catalog import CatalogTable
from ..hazards import never_together
from ..job_columns import job_name
from ..job_rows import JobSizer
from ..sized_job import SizedJob
from .sources import SUMMARY_TITLE
from .terminal import price_of

if TYPE_CHECKING:
    from .sizing import SizedList

__all__ = ["NEAR_MISS", "Summary", "summary_rows"]


#: A size below that holds at least this much of what a job needs is a near miss.
NEAR_MISS = 0.95
_MOST_NAMED = 100  # of each kind in the summary
_MOST_COMPARED = 100_000  # jobs among which repeats and partners are looked for


class Summary:
    """Adds up the jobs of one or more lists."""

    def __init__(self, catalog: CatalogTable) -> None:
        self.catalog = catalog
        self.models: Counter[tuple[float, str]] = Counter()
        self.prices: dict[tuple[float, str], Any] = {}
        self.jobs = self.sized = 0
        self.near: list[tuple[int, Any, SizedJob]] = []
        self.near_count = 0
        self.names: dict[str, list[int]] = {}
        self.alike: dict[tuple[str, float, float], list[tuple[int, SizedJob]]] = {}

    def add(
        self, number: int, name: Any, row: Sequence[Any], job: SizedJob, sizer: JobSizer
    ) -> None:
        """One row."""
        if not job.is_job:
            return
        self.jobs += 1
        if job.next_size is not None:
            self.sized += 1
            key = (job.next_size, job.model)
            self.models[key] += 1
            self.prices.setdefault(key, job.price)
        if (
            job.size_below
            and job.required_volume
            and job.size_below >= NEAR_MISS * job.required_volume
        ):
            self.near_count += 1
            if len(self.near) < _MOST_NAMED:
                self.near.append((number, name, job))
        if self.jobs > _MOST_COMPARED:
            return
        if not is_blank(name):
            self.names.setdefault(job_name(name).casefold(), []).append(number)
        if job.problem is None and job.blend_density and job.drying_hours:
            resin = sizer.columns.get("resin")
            text = row[resin.at] if resin is not None and resin.at < len(row) else ""
            if not is_blank(text):
                alike = (
                    str(text).strip().casefold(),
                    round(job.blend_density, 1),
                    job.drying_hours,
                )
                self.alike.setdefault(alike, []).append((number, job))

    @property
    def list_price(self) -> float | None:
        """Sum of the list prices, None where a chosen size has none."""
        total = 0.0
        for key, count in self.models.items():
            price = price_of(self.prices[key])
            if price is None:
                return None
            total += price * count
        return total


#: (kind, cells): kind is "title", "head" or ""
SummaryRow = tuple[str, list[Any]]


def summary_rows(found: Summary, lists: Sequence[SizedList], catalog: str) -> Iterator[SummaryRow]:
    """(kind, cells) of each row of the sheet *Summary*."""
    yield from _counts(found, lists, catalog)
    system = lists[0].sizer.system
    for part in (_by_model, _near_misses, _repeated, _together):
        yield "", []
        yield from part(found, system)
    if found.jobs > _MOST_COMPARED:
        yield (
            "",
            [
                f"Only the first {_MOST_COMPARED:,} jobs were compared for repeats and shared "
                "hoppers."
            ],
        )


def _volume(si: float | None, system: str) -> Any:
    return None if si is None else in_system(si, "volume", system)


def _counts(found: Summary, lists: Sequence[SizedList], catalog: str) -> Iterator[SummaryRow]:
    problems = sum(len(sized.problems) for sized in lists)
    yield "title", [SUMMARY_TITLE]
    yield "", ["jobs", found.jobs]
    yield "", ["sized", found.jobs - problems]
    yield "", ["sized, with something to check", sum(sized.marked for sized in lists)]
    yield "", ["with a problem", problems]
    yield "", ["rows that are no jobs", sum(len(sized.not_jobs) for sized in lists)]
    for sized in lists:
        for sheet, (jobs, _) in sized.file.source.other_sheets.items():
            if jobs:
                yield "", [f"NOT READ: sheet '{sheet}'", f"{jobs} rows that look like jobs"]
    yield "", ["catalog", catalog]
    yield "", ["catalog sizes", found.catalog.usable_words]
    names = [key[0] for key in found.alike]
    for first, second, hazard in never_together(names[:_MOST_NAMED]).meetings:
        yield "", [f"never in one dryer or hopper: {first} and {second}", hazard.text]


def _by_model(found: Summary, system: str) -> Iterator[SummaryRow]:
    unit = QUANTITIES["volume"].unit(system)
    price = f"list price [{found.catalog.currency}]" if found.catalog.currency else "list price"
    yield "title", ["By model"]
    yield "head", ["model", f"size [{unit}]", "quantity", "list price each", price]
    for (size, model), count in sorted(found.models.items()):
        each = price_of(found.prices[size, model])
        yield (
            "",
            [model or "no model name", _volume(size, system), count, each, each and each * count],
        )
    total = found.list_price
    shown: Any = "some sizes have no price" if total is None else total
    yield "", ["total", None, sum(found.models.values()), None, shown]


def _near_misses(found: Summary, system: str) -> Iterator[SummaryRow]:
    unit = QUANTITIES["volume"].unit(system)
    yield "title", [f"Near misses: the size below holds {NEAR_MISS:.0%} or more of what is needed"]
    yield "head", [
        "job", "row", f"needs [{unit}]", f"size below [{unit}]", "hours it holds", "drying hours",
    ]  # fmt: skip
    for number, name, job in found.near:
        yield "", [
            name, number, _volume(job.required_volume, system), _volume(job.size_below, system),
            _hours(job.hours_at_size_below), _hours(job.drying_hours),
        ]  # fmt: skip
    if found.near_count > len(found.near):
        yield "", [f"and {found.near_count - len(found.near)} more"]


def _hours(seconds: float | None) -> float | None:
    return None if seconds is None else float(rounded(seconds / 3600, 4))


def _repeated(found: Summary, _: str) -> Iterator[SummaryRow]:
    yield "title", ["Jobs listed more than once, by name"]
    yield "head", ["job", "rows"]
    repeated = [(name, rows) for name, rows in found.names.items() if len(rows) > 1]
    for name, rows in repeated[:_MOST_NAMED]:
        yield "", [name, _rows_named(rows)]
    if len(repeated) > _MOST_NAMED:
        yield "", [f"and {len(repeated) - _MOST_NAMED} more"]


def _rows_named(rows: Sequence[int]) -> str:
    return ", ".join(map(str, rows[:12])) + (" ..." if len(rows) > 12 else "")


def _together(found: Summary, system: str) -> Iterator[SummaryRow]:
    unit = QUANTITIES["volume"].unit(system)
    yield "title", ["Jobs of the same resin, blend and hours: one hopper could serve them together"]
    yield "head", ["resin", "rows", "jobs", f"they need together [{unit}]", "model that holds it"]
    shared = [(key, jobs) for key, jobs in found.alike.items() if len(jobs) > 1]
    for (resin, _, _), jobs in shared[:_MOST_NAMED]:
        together = sum(job.required_volume or 0.0 for _, job in jobs)
        size = found.catalog.around(together)[1]
        model: Any = "larger than the catalog"
        if size is not None:
            model = size.model or _volume(size.volume, system)
        rows = _rows_named([number for number, _ in jobs])
        yield "", [resin, rows, len(jobs), _volume(together, system), model]
    if len(shared) > _MOST_NAMED:
        yield "", [f"and {len(shared) - _MOST_NAMED} more"]
