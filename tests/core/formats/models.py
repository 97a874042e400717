"""3MF models and packages as text, written by hand from the specification, for tests of their readers."""

from __future__ import annotations

import io
import zipfile

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
MATERIALS = "http://schemas.microsoft.com/3dmanufacturing/material/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
START = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
KIND = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
PACKAGES = "http://schemas.openxmlformats.org/package/2006"

RELATIONS = (
    f'<Relationships xmlns="{PACKAGES}/relationships">'
    f'<Relationship Target="/3D/a.model" Id="r0" Type="{START}"/></Relationships>'
)
TYPES = f'<Types xmlns="{PACKAGES}/content-types"><Default Extension="model" ContentType="{KIND}"/></Types>'
# A tetrahedron with legs of 10, 20 and 30 along the axes; its volume is 1000.
FACES = ((0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2))
MESH = (
    '<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="10" y="0" z="0"/><vertex x="0" y="20" z="0"/>'
    '<vertex x="0" y="0" z="30"/></vertices><triangles>'
    + "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in FACES)
    + "</triangles></mesh>"
)
PALETTE = (
    '<basematerials id="1"><base name="a" displaycolor="#D32020"/>'
    '<base name="b" displaycolor="#1E8A8A"/></basematerials>'
)


def body(key: int, more: str = "", mesh: str = MESH) -> str:
    """Return an object with a mesh."""
    return f'<object id="{key}" {more}>{mesh}</object>'


def model(resources: str, items: str = "", more: str = "") -> bytes:
    """Return a whole model."""
    return (
        f'<model xmlns="{CORE}" xmlns:m="{MATERIALS}" xmlns:p="{PRODUCTION}" {more}>'
        f"<resources>{resources}</resources><build>{items}</build></model>"
    ).encode()


def packed(
    start: bytes, *more: tuple[str, bytes | str], relations: str = RELATIONS, types: str = TYPES
) -> bytes:
    """Return a package."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in (
            ("[Content_Types].xml", types), ("_rels/.rels", relations), ("3D/a.model", start), *more
        ):  # fmt: skip
            target.writestr(name, data)
    return out.getvalue()
