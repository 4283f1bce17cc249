#!/usr/bin/env python3
"""Writes sun_reference.csv and gev_reference.csv with general-purpose libraries, not with this project's code.

pip install scipy==1.* lmoments3 pvlib pymannkendall ; run inside tests/data/weather.
"""
import csv
import numpy as np
import pandas as pd
import scipy.stats as st
import lmoments3 as lm
from lmoments3 import distr
from pvlib import solarposition
import pymannkendall as mk

# Sunrise and sunset by the NREL solar position algorithm (pvlib), UTC hours of the local solar date.
with open("sun_reference.csv", "w", newline="") as f:
    w = csv.writer(f)
    w.writerow(["latitude_deg", "longitude_deg", "date", "sunrise_utc_h", "sunset_utc_h"])
    for lat, lon in [(30.0, -90.0), (36.1, -79.95), (47.5, -122.3), (-33.9, 18.5), (0.0, 0.0), (60.2, 25.0), (25.8, -80.3), (-45.0, 170.0)]:
        for date in ["2026-01-15", "2026-02-28", "2026-04-10", "2026-06-21", "2026-08-05", "2026-10-01", "2026-11-20", "2026-12-24"]:
            day = pd.DatetimeIndex([date]).tz_localize(f"Etc/GMT{int(-round(lon / 15)):+d}")
            got = solarposition.sun_rise_set_transit_spa(day, lat, lon, delta_t=69.0)
            midnight = pd.Timestamp(date, tz="UTC")
            hours = lambda t: (t.tz_convert("UTC") - midnight).total_seconds() / 3600
            w.writerow([lat, lon, date, f"{hours(got.sunrise.iloc[0]):.5f}", f"{hours(got.sunset.iloc[0]):.5f}"])

# GEV by L-moments (lmoments3), on -minimum; the samples are drawn once and written out with the answer.
rng = np.random.default_rng(20260124)
samples = {
    "twelve": [-12.2, -8.9, -10.6, -15, -7.8, -9.4, -11.1, -13.3, -6.7, -10, -8.3, -17.2],
    "bounded": np.round(-st.genextreme.rvs(0.25, loc=8, scale=3, size=40, random_state=rng), 1).tolist(),
    "gumbel": np.round(-st.genextreme.rvs(0.0, loc=12, scale=2.5, size=60, random_state=rng), 1).tolist(),
    "heavy": np.round(-st.genextreme.rvs(-0.2, loc=5, scale=1.5, size=80, random_state=rng), 1).tolist(),
    "short": np.round(-st.genextreme.rvs(0.1, loc=10, scale=3, size=15, random_state=rng), 1).tolist(),
}
with open("gev_reference.csv", "w", newline="") as f:
    w = csv.writer(f)
    w.writerow("name minima_c l1 l2 t3 t4 shape location scale min_2 min_10 min_50 min_100 theil_sen_slope mann_kendall_p".split())
    for name, minima in samples.items():
        x = -np.array(minima)
        l1, l2, t3, t4 = lm.lmom_ratios(x, nmom=4)
        p = distr.gev.lmom_fit(x)
        frozen = distr.gev(**p)
        levels = [-frozen.ppf(1 - 1 / T) for T in (2, 10, 50, 100)]
        test = mk.original_test(minima)
        slope = st.theilslopes(minima, np.arange(len(minima))).slope
        w.writerow([name, ";".join(f"{m:.1f}" for m in minima)] + [f"{v:.9f}" for v in (l1, l2, t3, t4, p["c"], p["loc"], p["scale"], *levels, slope, test.p)])
