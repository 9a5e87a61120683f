"""Draws how the work grows, from what criterion has measured, beside growth in proportion.

    cargo bench -p checks --bench growth
    python3 crates/checks/scripts/draw_growth.py target/criterion docs/pictures/growth.svg

Needs nothing but Python. Medians; both axes are logarithmic.
"""

import json
import math
import sys
from pathlib import Path

PANELS = [
    ("Reading a group", "shots", [("afresh", "reading/afresh/*"), ("one more arrow", "reading/one more/*")]),
    ("Advice on a reading", "shots", [("advice", "advice/*")]),
    ("Aiming an arrow's flight", "metres", [("flight", "flight/aimed/*")]),
    ("Fitting sight marks", "marks", [("fit and one prediction", "marks/fit and predict/*")]),
    ("Twelve arrows of a quiver", "shots", [("fleet", "fleet/12 arrows/*")]),
    ("500 shots of each arrow", "arrows", [("fleet", "fleet/* arrows/*")]),
]
WIDTH, HEIGHT, LEFT, BOTTOM, TOP = 330, 230, 62, 40, 30
COLOURS = ["#0b4f4a", "#b4552d"]


def median_s(folder):
    return json.loads((folder / "new/estimates.json").read_text())["median"]["point_estimate"] / 1e9


def points(root, pattern):
    """Pairs of a number and a median in seconds."""
    kind, *rest = pattern.split("/")
    found = []
    for folder in (root / kind).glob("/".join(rest)):
        if not (folder / "new/estimates.json").exists():
            continue
        if pattern == "fleet/* arrows/*":
            arrows = int(folder.parent.name.split()[0])
            if int(folder.name) == 500 * arrows:
                found.append((arrows, median_s(folder)))
        else:
            found.append((float(folder.name), median_s(folder)))
    return sorted(found)


def told(seconds):
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("µs", 1e-6)):
        if seconds >= size * 0.9999:
            return f"{seconds / size:g} {unit}"
    return f"{seconds / 1e-9:g} ns"


def panel(title, unit, curves, left, top):
    drawn = [(name, got) for name, got in curves if got]
    xs = [x for _, got in drawn for x, _ in got]
    ys = [y for _, got in drawn for _, y in got]
    low_x, high_x = math.log10(min(xs)), math.log10(max(xs))
    low_y, high_y = math.floor(math.log10(min(ys))), math.ceil(math.log10(max(ys)))
    wide, high = WIDTH - LEFT - 18, HEIGHT - BOTTOM - TOP
    at_x = lambda x: left + LEFT + wide * (math.log10(x) - low_x) / max(high_x - low_x, 1e-9)
    at_y = lambda y: top + TOP + high * (high_y - math.log10(y)) / (high_y - low_y)
    out = [f'<text class="title" x="{left + LEFT}" y="{top + 18}">{title}</text>']
    for decade in range(low_y, high_y + 1):
        y = at_y(10.0**decade)
        out.append(f'<path class="grid" d="M{left + LEFT:.0f} {y:.1f}h{wide}"/>')
        out.append(f'<text class="end" x="{left + LEFT - 6}" y="{y + 4:.1f}">{told(10.0**decade)}</text>')
    for x in sorted(set(xs)):
        out.append(f'<text class="middle" x="{at_x(x):.1f}" y="{top + HEIGHT - 22}">{x:g}</text>')
    out.append(f'<text class="middle" x="{left + LEFT + wide / 2:.0f}" y="{top + HEIGHT - 6}">{unit}</text>')
    # Growth in proportion from the first point of the first curve, as far as the panel goes.
    x0, y0 = drawn[0][1][0]
    last = min(max(xs), x0 * 10.0**high_y / y0)
    out.append(
        f'<path class="limit" d="M{at_x(x0):.1f} {at_y(y0):.1f}L{at_x(last):.1f} {at_y(y0 * last / x0):.1f}"/>'
    )
    for k, (name, got) in enumerate(drawn):
        line = "L".join(f"{at_x(x):.1f} {at_y(y):.1f}" for x, y in got)
        out.append(f'<path class="curve" stroke="{COLOURS[k]}" d="M{line}"/>')
        out += [f'<circle fill="{COLOURS[k]}" cx="{at_x(x):.1f}" cy="{at_y(y):.1f}" r="3"/>' for x, y in got]
        if len(drawn) > 1:
            x, y = left + WIDTH - 18, top + HEIGHT - BOTTOM - 8 - 15 * k
            out.append(f'<text class="end" style="fill:{COLOURS[k]}" x="{x}" y="{y}">{name}</text>')
    return "\n".join(out)


def main():
    root, to = Path(sys.argv[1]), Path(sys.argv[2])
    panels = []
    for k, (title, unit, curves) in enumerate(PANELS):
        got = [(name, points(root, pattern)) for name, pattern in curves]
        panels.append(panel(title, unit, got, WIDTH * (k % 2), HEIGHT * (k // 2)))
    rows = (len(PANELS) + 1) // 2
    style = (
        "text{font:12px sans-serif;fill:#1b1b1b}.title{font-weight:bold}.end{text-anchor:end}.middle{text-anchor:middle}"
        ".grid{stroke:#d5d2c8}.limit{stroke:#6b6b6b;stroke-dasharray:5 4;fill:none}.curve{fill:none;stroke-width:2}"
    )
    title = "How long the work takes, by how much there is of it; dashed: in proportion"
    to.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {2 * WIDTH} {HEIGHT * rows}" role="img" '
        f"aria-label=\"{title}\"><style>{style}</style><rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n"
        + "\n".join(panels)
        + "\n</svg>\n"
    )


if __name__ == "__main__":
    main()
