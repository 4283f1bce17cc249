"""Two real winters as native series, from the hourly files of ../weather (see PROVENANCE.md there).

Southern: November to March of ../weather/tmy3_whole_year.csv (NREL TMY3 of one station in the upper South of the United States). A typical year is put
together of real months of different years; November and December are set before January to March, and all are dated to one invented winter.
The hours within a month are those that came; the five joints between months are not.
Northern: January to March 2013 of ../weather/725300-99999-2013.isdlite (an airport of the north-eastern coast; its station number is a placeholder). Hours
that the file lacks stay lacking.

python3 make_winters.py
"""
import csv
import pathlib

here = pathlib.Path(__file__).parent
source = here.parent / "weather"
HEAD = "time,station_id,air_temp_c,wind_m_s,dew_point_c,sky_cover_percent,kind\n"

rows = list(csv.reader((source / "tmy3_whole_year.csv").open()))[2:]
out = []
for date, time, cloud, air, dew, wind in rows:
    month, day, _ = date.split("/")
    hour = int(time[:2])
    if month in ("11", "12", "01", "02", "03") and (month, day) != ("02", "29"):
        year = 2030 if month in ("11", "12") else 2031
        # TMY3 stamps the end of the hour, to 24:00, in standard time of zone -5.
        out.append((year, int(month), int(day), hour - 1, air, wind, dew, float(cloud) * 10))
out.sort()
with (here / "southern.csv").open("w") as file:
    file.write(HEAD)
    for year, month, day, hour, air, wind, dew, cloud in out:
        file.write(f"{year}-{month:02}-{day:02}T{hour:02}:00:00-05:00,SOUTH,{air},{wind},{dew},{cloud:.0f},observed\n")

with (here / "northern.csv").open("w") as file:
    file.write(HEAD)
    for line in (source / "725300-99999-2013.isdlite").open():
        year, month, day, hour, air, dew, _, _, wind, *_ = line.split()
        cell = lambda text: "" if text == "-9999" else f"{int(text) / 10}"
        file.write(f"{year}-{month}-{day}T{hour}:00:00Z,NORTH,{cell(air)},{cell(wind)},{cell(dew)},,observed\n")
