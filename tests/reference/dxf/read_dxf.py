"""Reads a DXF file with ezdxf and prints what it finds, a fact a line.

Usage: read_dxf.py FILE    (needs ezdxf >= 1.3, MIT licence)
`audit N` counts what its auditor would have to repair; `p LAYER X Y` are points along the curves.
"""

import sys

import ezdxf
from ezdxf import bbox, path

doc = ezdxf.readfile(sys.argv[1])
audit = doc.audit()
print("version", doc.dxfversion)
print("units", doc.header["$INSUNITS"], doc.header["$MEASUREMENT"])
print("audit", len(audit.errors) + len(audit.fixes))
for problem in audit.errors + audit.fixes:
    print("problem", problem.message.replace("\n", " "))
space = doc.modelspace()
print("types", " ".join(sorted({e.dxftype() for e in space})))
box = bbox.extents(space)
print("extents", box.extmin.x, box.extmin.y, box.extmax.x, box.extmax.y)
low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
print("said", low[0], low[1], high[0], high[1])
for entity in space:
    for p in path.make_path(entity).flattening(0.005):
        print("p", entity.dxf.layer, f"{p.x:.4f}", f"{p.y:.4f}")
