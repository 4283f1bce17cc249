"""Makes distances.csv: great-circle distances on a sphere of 6371008.8 m by geographiclib (PyPI)."""
import random
from geographiclib.geodesic import Geodesic

sphere = Geodesic(6371008.8, 0)
random.seed(20260120)
points = [
    ((32.8998, -97.0403), (32.8471, -96.8518)),
    ((33.6407, -84.4277), (33.8756, -84.3020)),
    ((0.0, 0.0), (1.0, 0.0)),
]
for _ in range(40):
    a = (random.uniform(-85, 85), random.uniform(-180, 180))
    near = random.random() < 0.5
    b = (a[0] + random.uniform(-0.3, 0.3), a[1] + random.uniform(-0.3, 0.3)) if near else (
        random.uniform(-85, 85), random.uniform(-180, 180))
    points.append((a, b))
with open("distances.csv", "w") as out:
    out.write("lat_a,lon_a,lat_b,lon_b,km\n")
    for a, b in points:
        a = tuple(round(x, 6) for x in a)
        b = tuple(round(x, 6) for x in b)
        km = sphere.Inverse(*a, *b)["s12"] / 1000
        out.write(f"{a[0]},{a[1]},{b[0]},{b[1]},{km:.6f}\n")
