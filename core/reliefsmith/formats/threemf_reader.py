"""Walk the XML of one 3MF model part once and collect its scene, within bounds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

from ..model.arrays import Color
from .bounds import MAX_INSTANCES, MAX_RESOURCES, MAX_TRIANGLES, MAX_VERTICES, MAX_XML_DEPTH, BadFileError
from .package import Attributes, parsed, xml_parser
from .threemf import CORE
from .threemf_grammar import AFTER, CHILDREN, KINDS, MAX_ID, MM_PER_UNIT, NEEDS, ONCE, PRODUCTION, UNDERSTOOD
from .threemf_scene import Item, Object, Property, Scene, parse_color, parse_matrix
from .threemf_solids import check_mesh

__all__ = ["ModelReader"]

_VERTEX, _TRIANGLE = f"{CORE} vertex", f"{CORE} triangle"


class ModelReader:
    """Handlers that collect a `Scene`; everything is defined before it is used (Core 3.4).

    Parameters
    ----------
    counts : Counter
        What was read so far, of all models of a package together.
    load : callable, optional
        Gives the scene of another model of the package by its path; only for the model that is the start.
    """

    def __init__(self, counts: Counter[str], load: Callable[[str], Scene] | None = None) -> None:
        self.scene = Scene()
        self._load = load
        self._path: list[str] = [""]
        self._seen: list[set[str]] = [set()]
        self._foreign = 0
        self._namespaces: dict[str | None, str] = {}
        self._object = Object(self.scene, 0, "", "", None)
        self._group: list[Color | None] = []
        self._pids: list[int] = []
        self._counts = counts
        self._metadata_names: set[str] = set()
        self._open: dict[str, Callable[[Attributes], None]] = {
            "model": self._model,
            "basematerials": self._begin_materials,
            "colorgroup": self._begin_group,
            "multiproperties": self._begin_combinations,
            "texture2dgroup": self._colorless,
            "compositematerials": self._colorless,
            "base": self._base,
            "color": self._color,
            "multi": self._combination,
            "object": self._begin_object,
            "component": self._component,
            "item": self._item,
            "metadata": self._metadata,
        }

    def read(self, data: bytes) -> Scene:
        """Parse a whole document and return its scene."""
        parser = xml_parser()
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.StartNamespaceDeclHandler = self._declare
        parsed(parser, data)
        return self.scene

    def _declare(self, prefix: str | None, namespace: str) -> None:
        self._namespaces[prefix] = namespace

    def _start(self, name: str, attributes: Attributes) -> None:
        """Take one start tag, the two frequent elements first; foreign ones are passed over whole."""
        parent = self._path[-1]
        try:
            if self._foreign:
                self._pass_over()
            elif name == _TRIANGLE and parent == "triangles":
                self._path.append("triangle")
                self._triangle(attributes)
            elif name == _VERTEX and parent == "vertices":
                self._path.append("vertex")
                place = self._object.coordinates
                place.extend((float(attributes["x"]), float(attributes["y"]), float(attributes["z"])))
            elif name in CHILDREN.get(parent, ()):
                self._enter(name.rpartition(" ")[2], attributes)
            elif parent == "" or name.startswith(f"{CORE} "):
                local = name.rpartition(" ")[2]
                raise BadFileError(f"{local[:40]!r} stands where 3MF does not allow it; export it again")
            else:
                self._pass_over()
        except KeyError as error:
            raise BadFileError(f"a {self._path[-1]} lacks its {error.args[0]!r}; export it again") from error
        except (ValueError, OverflowError) as error:
            raise BadFileError(f"a {self._path[-1]} has a value that is no usable number") from error

    def _end(self, _name: str) -> None:
        """Take one end tag."""
        if self._foreign:
            self._foreign -= 1
            return
        local = self._path.pop()
        if local in ("vertex", "triangle"):
            return
        seen = self._seen.pop()
        for needed in NEEDS.get(local, ()):
            if needed not in seen:
                raise BadFileError(f"its {local} has no {needed}; export it again")
        if local == "object":
            self._end_object(seen)
        elif local in ("vertices", "triangles"):
            self._count_mesh()

    def _enter(self, local: str, attributes: Attributes) -> None:
        seen = self._seen[-1]
        if local in ONCE and local in seen:
            raise BadFileError(f"its model has more than one {local} in one place; export it again")
        if local in AFTER and AFTER[local] not in seen:
            raise BadFileError(f"its model has {local} before {AFTER[local]}; export it again")
        seen.add(local)
        self._path.append(local)
        self._seen.append(set())
        self._counts[local] += 1
        if self._counts[local] > MAX_RESOURCES:
            raise BadFileError(f"it has more than {MAX_RESOURCES} of {local}; export fewer parts")
        handler = self._open.get(local)
        if handler is not None:
            handler(attributes)

    def _pass_over(self) -> None:
        self._foreign += 1
        if self._foreign > MAX_XML_DEPTH:
            raise BadFileError("its XML is nested too deep; export it again")

    def _count_mesh(self) -> None:
        vertices, corners = len(self._object.coordinates) // 3, len(self._object.corners) // 3
        if (
            self._counts["vertex"] + vertices > MAX_VERTICES
            or self._counts["corner"] + corners > MAX_TRIANGLES
        ):
            raise BadFileError(f"it has more than {MAX_TRIANGLES} triangles or {MAX_VERTICES} vertices")

    def _model(self, attributes: Attributes) -> None:
        unit = attributes.get("unit", "millimeter").strip()
        if unit not in MM_PER_UNIT:
            raise BadFileError(f"its unit {unit[:20]!r} is none of {', '.join(MM_PER_UNIT)}")
        self.scene.scale = MM_PER_UNIT[unit]
        for prefix in attributes.get("requiredextensions", "").split():
            if self._namespaces.get(prefix) not in UNDERSTOOD:
                raise BadFileError(f"it needs the 3MF extension {prefix[:20]!r}; export plain 3MF or STL")

    def _metadata(self, attributes: Attributes) -> None:
        name = attributes["name"]
        if self._path[-2] != "model":
            return
        if name in self._metadata_names:
            raise BadFileError(f"it has the metadata {name[:40]!r} twice; export it again")
        self._metadata_names.add(name)

    def _claim(self, attributes: Attributes) -> int:
        key = _whole(attributes["id"], least=1)
        if key in self.scene.groups or key in self.scene.objects:
            raise BadFileError(f"its model uses the id {key} twice; export it again")
        return key

    def _begin_group(self, attributes: Attributes) -> None:
        self._group = []
        self.scene.groups[self._claim(attributes)] = self._group

    def _begin_materials(self, attributes: Attributes) -> None:
        self._begin_group(attributes)
        self.scene.materials.add(_whole(attributes["id"], least=1))

    def _begin_combinations(self, attributes: Attributes) -> None:
        self._begin_group(attributes)
        self._pids = [_whole(word, least=1) for word in attributes["pids"].split()[:MAX_RESOURCES]]

    def _colorless(self, attributes: Attributes) -> None:
        self.scene.groups[self._claim(attributes)] = None

    def _base(self, attributes: Attributes) -> None:
        self._group.append(parse_color(attributes["displaycolor"]))

    def _color(self, attributes: Attributes) -> None:
        self._group.append(parse_color(attributes["color"]))

    def _combination(self, attributes: Attributes) -> None:
        """Take the topmost color of a combination; a missing index means 0 (Materials, chapter 5)."""
        indices = [_whole(word) for word in attributes["pindices"].split()[: len(self._pids)]]
        indices += [0] * (len(self._pids) - len(indices))
        colors = [self.scene.color(pair) for pair in zip(self._pids, indices, strict=True)]
        self._group.append(next((color for color in reversed(colors) if color is not None), None))

    def _begin_object(self, attributes: Attributes) -> None:
        kind = attributes.get("type", "model")
        if kind not in KINDS:
            raise BadFileError(f"an object is of the unknown type {kind[:20]!r}; export it again")
        default: Property | None = None
        if "pid" in attributes:
            default = (_whole(attributes["pid"], least=1), _whole(attributes.get("pindex", "0")))
            self.scene.color(default)
        elif "pindex" in attributes:
            raise BadFileError("an object has a pindex without a pid; export it again")
        self._object = Object(self.scene, self._claim(attributes), attributes.get("name", ""), kind, default)

    def _triangle(self, attributes: Attributes) -> None:
        one = self._object
        one.corners.extend((int(attributes["v1"]), int(attributes["v2"]), int(attributes["v3"])))
        if "p1" in attributes:
            self._paint(attributes)

    def _paint(self, attributes: Attributes) -> None:
        one = self._object
        first = _whole(attributes["p1"])
        if "pid" in attributes:
            group = _whole(attributes["pid"], least=1)
        elif one.default is not None:
            group = one.default[0]
        else:
            raise BadFileError(f"a triangle of object {one.key} has a property but no group of properties")
        others = {_whole(attributes.get(key, attributes["p1"])) for key in ("p2", "p3")}
        if group in self.scene.materials and others != {first}:
            raise BadFileError(f"a triangle of object {one.key} mixes base materials; export it again")
        one.painted[group, first] += 1

    def _end_object(self, seen: set[str]) -> None:
        one = self._object
        if len(seen & {"mesh", "components"}) != 1:
            raise BadFileError(f"object {one.key} must be either a mesh or components; export it again")
        if "mesh" in seen:
            vertices, triangles = len(one.coordinates) // 3, len(one.corners) // 3
            one.instances, one.size = 1, max(vertices, triangles)
            self._counts["vertex"] += vertices
            self._counts["corner"] += triangles
            check_mesh(one)
        elif not one.components:
            raise BadFileError(f"object {one.key} has no components; export it again")
        self.scene.objects[one.key] = one

    def _target(self, attributes: Attributes) -> Object:
        key = _whole(attributes["objectid"], least=1)
        scene = self.scene
        path = attributes.get(f"{PRODUCTION} path")
        if path is not None:
            if self._load is None:
                raise BadFileError("one of its models refers to a further model; export it again")
            scene = self._load(path)
            if scene.scale != self.scene.scale:
                raise BadFileError("its models are in different units; export it again")
        if key not in scene.objects:
            raise BadFileError(f"its model refers to object {key}, which is not defined before that place")
        return scene.objects[key]

    def _component(self, attributes: Attributes) -> None:
        self._object.place(self._target(attributes), parse_matrix(attributes.get("transform")))

    def _item(self, attributes: Attributes) -> None:
        if self._load is None:
            return  # only the start's build counts (Production, chapter 2)
        target = self._target(attributes)
        number = attributes.get("partnumber", "").strip()
        self.scene.items.append(Item(target, parse_matrix(attributes.get("transform")), number))
        self._counts["instances"] += target.instances
        self._counts["built"] += target.size
        if self._counts["instances"] > MAX_INSTANCES or self._counts["built"] > MAX_TRIANGLES:
            raise BadFileError("its build is made of too many components or triangles; export fewer parts")


def _whole(text: str, *, least: int = 0) -> int:
    number = int(text)
    if not least <= number <= MAX_ID:
        raise ValueError(text)
    return number
