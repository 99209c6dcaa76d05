# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads a DXF with OGR (Debian python3-gdal) and prints its closed lines, one word group a line.

ogr_read.py FILE   exit 0 printed, 77 OGR is not installed
"""
import sys

try:
    from osgeo import gdal, ogr
except ImportError:
    print("python3-gdal is not installed")
    sys.exit(77)

gdal.UseExceptions()
gdal.SetConfigOption("OGR_ARC_STEPSIZE", "0.1")
source = ogr.Open(sys.argv[1])
layer = source.GetLayer(0)
for feature in layer:
    g = feature.GetGeometryRef()
    if g is None or not feature.GetField("Layer").startswith(("CUT_", "KEEP_")):
        continue
    if g.GetGeometryType() in (ogr.wkbPolygon, ogr.wkbPolygon25D):
        g = g.GetGeometryRef(0)
    n = g.GetPointCount()
    ring = ogr.Geometry(ogr.wkbLinearRing)
    for i in range(n):
        ring.AddPoint_2D(g.GetX(i), g.GetY(i))
    polygon = ogr.Geometry(ogr.wkbPolygon)
    polygon.AddGeometry(ring)
    # A last piece that is an arc comes as computed points, so its end is equal only to rounding.
    closed = int(max(abs(g.GetX(0) - g.GetX(n - 1)), abs(g.GetY(0) - g.GetY(n - 1))) < 1e-9)
    print("line", feature.GetField("Layer"), closed, n, "%.17g" % polygon.GetArea())
    for i in range(n):
        print("point %.17g %.17g" % (g.GetX(i), g.GetY(i)))
