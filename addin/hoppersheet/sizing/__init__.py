"""The pure functions, one file per topic: SI floats in, SI floats out.

Importing this package fills the registry, in the order of the documentation.
"""

from . import density, resins, throughput, volume, catalog, load, air, diffusion, jobs, conversion  # noqa: I001 the order is meant

__all__ = [
    "air",
    "catalog",
    "conversion",
    "density",
    "diffusion",
    "jobs",
    "load",
    "resins",
    "throughput",
    "volume",
]
