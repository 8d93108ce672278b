"""The dark area of an SVG drawing as polygons, for the small part of SVG 1.1 that gerber-to-svg (npm) writes.

Filled and stroked paths of lines and circular arcs, circles, rectangles with round corners, polygons, groups, uses and luminance
masks of black and white. Curves become inscribed polygons of 128 sides a turn: areas of discs come out small by 0.04 %.
"""
import math
import xml.etree.ElementTree as xml

import shapely
from shapely import affinity

QUARTER = 32
NOTHING = shapely.Polygon()
HREF = "{http://www.w3.org/1999/xlink}href"
MM_PER_UNIT = {"mm": 1.0, "in": 25.4}


class Drawing:
    """One drawing: definitions by name, and shapes of them already worked out."""

    def __init__(self, svg):
        self.root = xml.fromstring(svg)
        self.by_id = {e.get("id"): e for e in self.root.iter() if e.get("id")}
        self.shapes = {}

    def dark_mm(self):
        """The dark area in the file's own coordinates, mm: the outermost group only turns y over for the screen."""
        width = self.root.get("width", "0mm")
        scale = MM_PER_UNIT.get(width[-2:], 1.0) / 1000.0
        layers = [e for e in self.root if kind(e) == "g"]
        dark = merged([shape for layer in layers for shape in map(self.shape, layer)])
        return affinity.scale(dark, scale, scale, origin=(0, 0))

    def shape(self, element):
        """What one element covers, in thousandths of the file's unit."""
        tag = kind(element)
        if tag == "g":
            covered = merged([self.shape(e) for e in element])
        elif tag == "use":
            covered = self.used(element)
        else:
            covered = plain(tag, element)
        mask = element.get("mask")
        if mask is None or covered.is_empty:
            return covered
        return covered.intersection(self.white(mask.removeprefix("url(#").removesuffix(")")))

    def named(self, name):
        """The element of this name, worked out once; a use of nothing draws nothing."""
        if name not in self.shapes:
            element = self.by_id.get(name)
            self.shapes[name] = NOTHING if element is None else self.shape(element)
        return self.shapes[name]

    def used(self, element):
        there = self.named(element.get(HREF).lstrip("#"))
        return affinity.translate(there, float(element.get("x", 0)), float(element.get("y", 0)))

    def white(self, name):
        """What a mask lets through: white and black children painted over each other in order."""
        mask = self.by_id.get(name)
        if mask is None:
            return NOTHING
        steps = []
        self.paint(mask, {"fill": "#000", "stroke": "#000"}, steps)
        white, start = NOTHING, 0
        while start < len(steps):
            end = start
            while end < len(steps) and steps[end][0] == steps[start][0]:
                end += 1
            together = merged([shape for _, shape in steps[start:end]])
            white = white.union(together) if steps[start][0] else white.difference(together)
            start = end
        return white

    def paint(self, element, inherited, steps):
        """Appends (is white, shape) for each thing painted."""
        colours = {key: element.get(key, inherited[key]) for key in inherited}
        if kind(element) in ("mask", "g") and element.get("mask") is None:
            for child in element:
                self.paint(child, colours, steps)
            return
        by = "stroke" if element.get("fill") == "none" else "fill"
        steps.append((colours[by] == "#fff", self.shape(element)))


def kind(element):
    return element.tag.rsplit("}", 1)[-1]


def merged(shapes):
    shapes = [s for s in shapes if not s.is_empty]
    return shapely.union_all(shapes) if shapes else NOTHING


def plain(tag, element):
    """A circle, rectangle, polygon or path."""
    stroke = float(element.get("stroke-width", 0)) if element.get("fill") == "none" else None
    number = lambda key: float(element.get(key, 0))  # noqa: E731
    if tag == "circle":
        centre = shapely.Point(number("cx"), number("cy"))
        if stroke is None:
            return centre.buffer(number("r"), quad_segs=QUARTER)
        inner = centre.buffer(max(number("r") - stroke / 2, 0.0), quad_segs=QUARTER)
        return centre.buffer(number("r") + stroke / 2, quad_segs=QUARTER).difference(inner)
    if tag == "rect":
        x, y, width, height = number("x"), number("y"), number("width"), number("height")
        round_by = min(number("rx"), width / 2, height / 2)
        core = shapely.box(x + round_by, y + round_by, x + width - round_by, y + height - round_by)
        return core if round_by == 0 else shapely.make_valid(core).buffer(round_by, quad_segs=QUARTER)
    if tag == "polygon":
        values = [float(v) for v in element.get("points", "").replace(",", " ").split()]
        return even_odd([list(zip(values[::2], values[1::2]))])
    if tag == "path":
        lines = subpaths(element.get("d", ""))
        return even_odd(lines) if stroke is None else stroked(lines, stroke / 2)
    raise ValueError(f"an SVG element that is not expected here: {tag}")


def stroked(lines, radius):
    if radius <= 0:
        return NOTHING
    middles = [shapely.Point(line[0]) if len(set(line)) == 1 else shapely.LineString(line) for line in lines]
    return merged(list(shapely.buffer(middles, radius, quad_segs=QUARTER)))


def even_odd(rings):
    """The drawings fill by the even-odd rule."""
    inside = NOTHING
    for ring in rings:
        if len(ring) < 3:
            continue
        area = shapely.Polygon(ring)
        area = area if area.is_valid else shapely.make_valid(area, method="linework")
        inside = area if inside.is_empty else inside.symmetric_difference(area)
    return shapely.union_all([p for p in shapely.get_parts(inside) if p.area > 0])


def subpaths(text):
    """Lists of points of path data of M, L and A commands with absolute numbers."""
    words = iter(text.split())
    lines, command = [], "M"
    for word in words:
        if word in ("M", "L", "A"):
            command, word = word, next(words)
        elif command == "M":
            command = "L"
        if command == "A":
            radius = float(word)
            next(words), next(words)
            large, left = next(words) == "1", next(words) == "1"
            lines[-1] += arc(lines[-1][-1], (float(next(words)), float(next(words))), radius, large, left)
        elif command == "M":
            lines.append([(float(word), float(next(words)))])
        else:
            lines[-1].append((float(word), float(next(words))))
    return lines


def arc(start, end, radius, large, left):
    """Points of a circular arc after its start; centre by SVG 1.1, appendix F.6.5."""
    dx, dy = (end[0] - start[0]) / 2, (end[1] - start[1]) / 2
    half = math.hypot(dx, dy)
    if half == 0 or radius == 0:
        return [end]
    radius = max(radius, half)
    away = math.sqrt(max(radius * radius - half * half, 0.0)) / half * (1 if large != left else -1)
    cx, cy = (start[0] + end[0]) / 2 - away * dy, (start[1] + end[1]) / 2 + away * dx
    begin = math.atan2(start[1] - cy, start[0] - cx)
    sweep = math.atan2(end[1] - cy, end[0] - cx) - begin
    sweep += math.tau if left and sweep < 0 else -math.tau if not left and sweep > 0 else 0.0
    steps = max(1, math.ceil(abs(sweep) / (math.pi / 2 / QUARTER)))
    inner = (begin + sweep * step / steps for step in range(1, steps))
    return [(cx + radius * math.cos(a), cy + radius * math.sin(a)) for a in inner] + [end]
