"""Azimuthal equidistant maps and great-circle distances on balls, by pyproj (PROJ).

Writes sphere_maps.json beside itself: for random balls and points
  * the face's chart: PROJ's aeqd about (lat 0, lon 0), x = u, y = v;
  * the flat sheet about another centre: PROJ's aeqd about that centre, north along +y;
  * the great-circle distance centre to point, by PROJ's geodesic on a sphere;
  * PROJ's scale factors at the point in the sheet (tissot, least and greatest).

In the face's own space frame chart (0, 0) is on +x, u starts along +y, v along +z, which is PROJ's
geocentric sphere with lat 0, lon 0 at the origin; so PROJ's north is the chart's "up" taken from
the ball's own z axis.

Run:  python3 sphere_maps.py     (needs numpy and pyproj; made with pyproj 3.7, seed below)
"""

import json
import pathlib

import numpy as np
import pyproj
from pyproj import Geod, Proj

rng = np.random.default_rng(20250117)
cases = []
while len(cases) < 400:
    radius = float(10 ** rng.uniform(1.5, 3.7))
    # centre within 80 degrees of the face's origin, point within 140 of both
    lat_c, lon_c = float(rng.uniform(-70, 70)), float(rng.uniform(-70, 70))
    lat, lon = float(rng.uniform(-85, 85)), float(rng.uniform(-150, 150))
    if len(cases) % 4 == 0:  # near one another, where formulas cancel
        lat, lon = lat_c + float(rng.normal(0, 0.3)), lon_c + float(rng.normal(0, 0.3))
    geod = Geod(a=radius, b=radius)
    distance = geod.inv(lon_c, lat_c, lon, lat)[2]
    from_origin = geod.inv(0, 0, lon, lat)[2]
    if max(distance, from_origin) > radius * np.radians(140) or distance < 1.0:
        continue
    chart = Proj(proj="aeqd", R=radius, lat_0=0, lon_0=0)
    sheet = Proj(proj="aeqd", R=radius, lat_0=lat_c, lon_0=lon_c)
    factors = sheet.get_factors(lon, lat)
    cases.append(
        {
            "radius": radius,
            "centre_lat": lat_c,
            "centre_lon": lon_c,
            "lat": lat,
            "lon": lon,
            "centre_chart": list(chart(lon_c, lat_c)),
            "chart": list(chart(lon, lat)),
            "sheet": list(sheet(lon, lat)),
            "distance": distance,
            "least": factors.tissot_semiminor,
            "greatest": factors.tissot_semimajor,
        }
    )

head = {"made_with": f"pyproj {pyproj.__version__}, PROJ {pyproj.proj_version_str}"}
lines = ",\n".join(json.dumps(case) for case in cases)
out = pathlib.Path(__file__).with_name("sphere_maps.json")
out.write_text(json.dumps(head)[:-1] + ', "cases": [\n' + lines + "\n]}\n")
print(len(cases), "cases")
