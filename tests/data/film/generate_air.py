"""Writes air.csv beside this file: dry air at 101.325 kPa from CoolProp 8.0.0 (PyPI), independent of the program."""

import csv
import pathlib

from CoolProp.CoolProp import PropsSI

with open(pathlib.Path(__file__).parent / "air.csv", "w", newline="") as f:
    out = csv.writer(f, lineterminator="\n")
    out.writerow(["t_k", "viscosity_pa_s", "conductivity_w_mk", "rho", "cp", "prandtl"])
    for t_k in [230, 240, 250, 260, 265, 270, 273.15, 280, 290, 300, 310]:
        get = lambda key: PropsSI(key, "T", t_k, "P", 101325, "Air")
        out.writerow([t_k] + [f"{get(k):.9g}" for k in ["V", "L", "D", "C", "PRANDTL"]])
