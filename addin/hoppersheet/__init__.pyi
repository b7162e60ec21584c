"""Types of what the package offers. Written by ``python -m hoppersheet.doors``."""

from collections.abc import Sequence
from typing import Literal

from ._version import __version__ as __version__
from .audit import audit_book as audit_book
from .call import OMITTED as OMITTED
from .call import call as call
from .errors import CellError as CellError
from .errors import HoppersheetError as HoppersheetError
from .workbook.compute import compute as compute

#: A number in the unit system, or a text with its own unit: ``"45 kg/h"``.
Number = float | str
Cell = float | str | bool | None
#: A range of numbers: one cell, a row, or a list of rows.
Cells = Number | Sequence[Number | None] | Sequence[Sequence[Number | None]]
#: A range of any cells, as a list of rows.
Table = Sequence[Sequence[Cell]]
Units = Literal["US", "metric"]

__all__: list[str]

def blend_density(
    shares: Cells,
    densities: Cells,
    share_basis: str = ...,
    *,
    units: Units = "US",
) -> float: ...
def regrind_density(
    virgin_density: Number,
    ratio: Number = ...,
    *,
    units: Units = "US",
) -> float: ...
def sample_density(
    net_masses: Cells,
    cup_volume: Number,
    *,
    units: Units = "US",
) -> float: ...
def sample_spread(
    net_masses: Cells,
) -> float: ...
def resin(
    resin: str,
    property: str,
    own_table: Table = ...,
    *,
    units: Units = "US",
) -> float | str | bool: ...
def molding_rate(
    shot_mass: Number,
    cycle_time: Number,
    machines: Number = ...,
    *,
    units: Units = "US",
) -> float: ...
def extrusion_rate(
    mass_per_length: Number,
    line_speed: Number,
    *,
    units: Units = "US",
) -> float: ...
def required_volume(
    throughput: Number,
    drying_hours: Number,
    bulk_density: Number,
    reserve: Number = ...,
    *,
    units: Units = "US",
) -> float: ...
def held_hours(
    volume: Number,
    bulk_density: Number,
    throughput: Number,
    *,
    units: Units = "US",
) -> float: ...
def max_throughput(
    volume: Number,
    bulk_density: Number,
    drying_hours: Number,
    *,
    units: Units = "US",
) -> float: ...
def held_mass(
    volume: Number,
    bulk_density: Number,
    *,
    units: Units = "US",
) -> float: ...
def rated_volume(
    rated_mass: Number,
    rated_density: Number,
    *,
    units: Units = "US",
) -> float: ...
def next_size(
    required_volume: Number,
    catalog_sizes: Cells,
    allowed_shortfall: Number = ...,
    *,
    units: Units = "US",
) -> float: ...
def size_below(
    required_volume: Number,
    catalog_sizes: Cells,
    *,
    units: Units = "US",
) -> float: ...
def size_margin(
    size: Number,
    required_volume: Number,
    *,
    units: Units = "US",
) -> float: ...
def count(
    required_volume: Number,
    catalog_sizes: Cells,
    *,
    units: Units = "US",
) -> float: ...
def catalog_entry(
    size: Number,
    catalog_sizes: Cells,
    catalog_column: Table,
    *,
    units: Units = "US",
) -> float | str | bool: ...
def chance_held(
    size: Number,
    throughput_range: Cells,
    hours_range: Cells,
    density_range: Cells,
    *,
    units: Units = "US",
) -> float: ...
def shape_volume(
    diameter: Number,
    straight_height: Number,
    cone_angle: Number,
    outlet_diameter: Number,
    *,
    units: Units = "US",
) -> float: ...
def loaded_mass(
    empty_mass: Number,
    volume: Number,
    bulk_density: Number,
    *,
    units: Units = "US",
) -> float: ...
def airflow(
    throughput: Number,
    specific_airflow: Number,
    *,
    units: Units = "US",
) -> float: ...
def heat(
    throughput: Number,
    specific_heat: Number,
    from_temperature: Number,
    to_temperature: Number,
    *,
    units: Units = "US",
) -> float: ...
def water_removed(
    throughput: Number,
    moisture_in: Number,
    moisture_out: Number,
    *,
    units: Units = "US",
) -> float: ...
def air_heat(
    airflow: Number,
    from_temperature: Number,
    to_temperature: Number,
    altitude: Number = ...,
    *,
    units: Units = "US",
) -> float: ...
def air_moisture(
    temperature: Number,
    relative_humidity: Number,
    altitude: Number = ...,
    *,
    units: Units = "US",
) -> float: ...
def dew_point(
    temperature: Number,
    relative_humidity: Number,
    *,
    units: Units = "US",
) -> float: ...
def size_jobs(
    jobs: Table,
    catalog_sizes: Table,
    share_basis: str = ...,
    *,
    units: str = ...,
) -> list[list[float | str | bool]]: ...
def convert(
    value: Cell,
    from_unit: str,
    to_unit: str,
) -> float: ...
def explain(
    function_name: str,
    *arguments: Cell | Table,
) -> str: ...
def version() -> str: ...
