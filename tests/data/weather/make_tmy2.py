#!/usr/bin/env python3
"""Puts 45 days of tmy3_whole_year.csv into the published shape of TMY2: tables 3-1 and 3-2 of the User's Manual for TMY2s (NREL/SP-463-7668).

Values are never changed: dry bulb, dew point and wind are tenths in both. Radiation and what is not read is written as a published file
has it at night. Two values are written as missing (all nines) to have one of each.
"""
import csv

rows = list(csv.reader(open("tmy3_whole_year.csv")))
facts, header, hours = rows[0], rows[1], rows[2:]
at = {name: header.index(name) for name in ("TotCld (tenths)", "Dry-bulb (C)", "Dew-point (C)", "Wspd (m/s)")}


def degrees(value, width, sides):
    side = sides[0] if value >= 0 else sides[1]
    minutes = round(abs(value) * 60)
    return f"{side} {minutes // 60:{width}d} {minutes % 60:2d}"


lat, lon, elev = float(facts[4]), float(facts[5]), float(facts[6])
first = f" 99999 {'MADE PLACE':22s} XX {int(float(facts[3])):3d} {degrees(lat, 2, 'NS')} {degrees(lon, 3, 'EW')}  {round(elev):4d}"
out = [first]
for n, row in enumerate(hours[: 45 * 24]):
    month, day, year = row[0].split("/")
    hour = int(row[1][:2])
    tenths = lambda name: round(float(row[at[name]]) * 10)
    dew = 9999 if n == 30 else tenths("Dew-point (C)")
    sky = 99 if n == 31 else int(row[at["TotCld (tenths)"]])
    out.append(
        f" {int(year) % 100:02d}{month}{day}{hour:02d}"
        + "00000000" + "0000?0" * 7
        + f"{sky:02d}A7{sky:02d}A7"
        + f"{tenths('Dry-bulb (C)'):04d}A7{dew:04d}A7"
        + "070A7" + "1017A7" + "158A7"
        + f"{tenths('Wspd (m/s)'):03d}A7"
        + "0161A777777A70999999999013F8062F8000A788E7"
    )
open("tmy2_45_days.tm2", "w").write("\r\n".join(out) + "\r\n")
air = [float(row[at["Dry-bulb (C)"]]) for row in hours[: 45 * 24]]
print(len(air), "hours,", sum(t < 0 for t in air), "below 0, coldest", min(air), "in row", air.index(min(air)), hours[air.index(min(air))][:2])
