#!/usr/bin/env python3
"""Writes inlet_reference.csv: supply water of tmy3_whole_year.csv by the published formula, worked here apart from the program.

Burch and Christensen 2007 in its published unit, °F. Run inside tests/data/weather. The days are those of the station's clock.
"""
import math, csv, datetime as dt

rows = list(csv.reader(open("tmy3_whole_year.csv")))[2:]
months = [[] for _ in range(12)]
for r in rows:
    m, d, _ = map(int, r[0].split("/"))
    months[m - 1].append(float(r[3]))
means_f = [sum(v) / len(v) * 1.8 + 32 for v in months]
avg = sum(float(r[3]) for r in rows) / len(rows) * 1.8 + 32
span = max(means_f) - min(means_f)
ratio, lag = 0.4 + 0.01 * (avg - 44), 35 - (avg - 44)
water = lambda day: avg + 6 + ratio * span / 2 * math.sin(math.radians(0.986 * (day - 15 - lag) - 90))
c = lambda f: (f - 32) / 1.8
days = {d: c(water(d)) for d in range(1, 366)}
by_month = [[] for _ in range(12)]
for d in days:
    by_month[(dt.date(2001, 1, 1) + dt.timedelta(days=d - 1)).month - 1].append(days[d])
with open("inlet_reference.csv", "w") as f:
    f.write("what,value\n")
    f.write(f"annual_mean_air_c,{c(avg):.4f}\nmonthly_range_k,{span / 1.8:.4f}\n")
    coldest = min(days, key=days.get)
    f.write(f"coldest_c,{days[coldest]:.4f}\ncoldest_day,{coldest}\nwarmest_c,{max(days.values()):.4f}\n")
    for i, v in enumerate(by_month):
        f.write(f"month_{i + 1},{sum(v) / len(v):.4f}\n")
