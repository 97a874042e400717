"""Read 3MF: core specification, base materials, color groups and their combinations, models in several files.

Sources: 3MF Core Specification 1.4.0 ("Core"), Materials and Properties Extension 1.2.1 ("Materials"),
Production Extension 1.2 ("Production"), https://github.com/3MFConsortium.
"""

from __future__ import annotations

from collections import Counter

from ..model.parts import Part
from .package import Package
from .roles import as_parts
from .threemf_grammar import SUPPORTS
from .threemf_reader import ModelReader
from .threemf_scene import Scene
from .threemf_solids import read_mesh

__all__ = ["read_threemf"]


def read_threemf(data: bytes, stem: str) -> tuple[Part, ...]:
    """Read the parts that a 3MF file builds, in mm, where the build puts them.

    Parameters
    ----------
    data : bytes
    stem : str
        Name for parts that the file does not name.

    Raises
    ------
    BadFileError
        If the file is broken, over a limit, or breaks a rule on which its meaning depends.
    """
    package = Package(data)
    counts: Counter[str] = Counter()
    others: dict[str, Scene] = {}

    def load(path: str) -> Scene:
        """Read another model of the package, once; it cannot load further ones."""
        if path not in others:
            others[path] = ModelReader(counts).read(package.entry(path.removeprefix("/")))
        return others[path]

    scene = ModelReader(counts, load).read(package.entry(package.start))
    solids = [one for one in scene.instances() if one.mesh.kind not in SUPPORTS]
    return as_parts([read_mesh(one) for one in solids], stem)
