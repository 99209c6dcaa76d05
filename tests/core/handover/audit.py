# SPDX-License-Identifier: GPL-3.0-or-later
"""Audits DXF files with ezdxf (Debian python3-ezdxf) and prints what it read, one word group a line.

audit.py FILE...   exit 0 printed, 77 ezdxf is not installed
"""
import sys

try:
    import ezdxf
except ImportError:
    print("python3-ezdxf is not installed")
    sys.exit(77)


def chains(doc):
    for e in doc.modelspace():
        if e.dxftype() == "LWPOLYLINE":
            yield e.dxf.layer, e.closed, [(p[0], p[1], p[4]) for p in e.get_points("xyseb")]
        elif e.dxftype() == "POLYLINE":
            yield e.dxf.layer, e.is_closed, [
                (v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in e.vertices]


for name in sys.argv[1:]:
    doc = ezdxf.readfile(name)
    audit = doc.audit()
    print("file", doc.dxfversion, "errors", len(audit.errors), "fixes", len(audit.fixes))
    for problem in audit.errors + audit.fixes:
        print("problem", problem.message)
    print("units", doc.header.get("$INSUNITS", -1), doc.header.get("$MEASUREMENT", -1))
    for layer, closed, points in chains(doc):
        print("chain", layer, int(closed), len(points))
        for x, y, b in points:
            print("vertex %.17g %.17g %.17g" % (x, y, b))
    for e in doc.modelspace().query("CIRCLE"):
        print("circle", e.dxf.layer, "%.17g %.17g %.17g" % (e.dxf.center.x, e.dxf.center.y, e.dxf.radius))
    for e in doc.modelspace().query("DIMENSION"):
        block = doc.blocks.get(e.dxf.geometry)
        print("dimension", e.dxf.layer, len(block) if block is not None else -1, e.dimtype)
    for e in doc.modelspace().query("TEXT"):
        print("text", e.plain_text())
