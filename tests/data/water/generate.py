"""Writes the reference tables of liquid water beside this file.

Independent of the program: CoolProp 8.0.0 (IAPWS-95) and iapws 1.5.5 (IF97 region 1 and 4, SR6-08, G12-15,
R14-08), both from PyPI. Run: pip install CoolProp==8.0.0 iapws==1.5.5 && python generate.py
"""

import csv
import pathlib
import warnings

from CoolProp.CoolProp import PropsSI
from iapws._iapws import _Ice, _Liquid, _Melting_Pressure, _Supercooled
from iapws.iapws97 import _PSat_T, _Region1

warnings.simplefilter("ignore")
here = pathlib.Path(__file__).parent


def write(name, header, rows):
    with open(here / name, "w", newline="") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(header)
        out.writerows(rows)


rows = []
for abs_kpa in [101.325, 652.905583, 1000.0, 5000.0, 20000.0, 100000.0]:
    for t_c in [0.01, 2, 4, 5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 99, 110, 120, 130, 140, 149]:
        t_k, pa = t_c + 273.15, abs_kpa * 1e3
        if abs_kpa < 1000.0 * _PSat_T(t_k):
            continue
        d = PropsSI("D", "T", t_k, "P", pa, "Water")
        alpha = PropsSI("ISOBARIC_EXPANSION_COEFFICIENT", "T", t_k, "P", pa, "Water")
        kappa = PropsSI("ISOTHERMAL_COMPRESSIBILITY", "T", t_k, "P", pa, "Water")
        cp = PropsSI("C", "T", t_k, "P", pa, "Water")
        r1 = _Region1(t_k, abs_kpa / 1000.0)
        rows.append([t_c, abs_kpa] + [f"{x:.10g}" for x in [d, alpha, kappa, cp, 1 / r1["v"], r1["alfav"], r1["kt"] * 1e-6, r1["cp"] * 1e3]])
write(
    "liquid.csv",
    ["t_c", "abs_kpa", "rho_95", "alpha_95", "kappa_95", "cp_95", "rho_97", "alpha_97", "kappa_97", "cp_97"],
    rows,
)

rows = []
for t_c in [-30, -25, -20, -15, -12, -10, -8, -6, -5, -4, -3, -2, -1, 0]:
    t_k = t_c + 273.15
    rows.append([t_c, f"{_Supercooled(t_k, 0.101325)['rho']:.8f}"])
write("supercooled.csv", ["t_c", "rho_g12_15"], rows)

rows = []
for t_c in [-19, -10, -5, 0, 5, 10, 20, 25, 40, 60, 80, 100, 109]:
    p = _Liquid(t_c + 273.15)
    rows.append([t_c, f"{p['k']:.9f}", f"{p['mu']:.9e}", f"{p['rho']:.6f}"])
write("transport.csv", ["t_c", "conductivity_w_mk", "viscosity_pa_s", "rho"], rows)

rows = []
for t_k in [251.2, 253.15, 255, 257.5, 260, 262.5, 265, 267.5, 270, 271, 272, 273, 273.15, 273.16]:
    rows.append([t_k, f"{1e6 * _Melting_Pressure(t_k, 'Ih'):.6f}"])
write("melting_line.csv", ["t_k", "pressure_pa"], rows)

rows = []
for t_c in [0, 4, 10, 20, 40, 60, 80, 100, 120, 150]:
    t_k = t_c + 273.15
    p = _PSat_T(t_k)
    rows.append([t_c, f"{p * 1e6:.6f}", f"{_Region1(t_k, p)['v']:.12e}", f"{PropsSI('P', 'T', max(t_k, 273.16), 'Q', 0, 'Water'):.6f}"])
write("saturation.csv", ["t_c", "psat_97_pa", "v_sat_97_m3_kg", "psat_95_pa"], rows)

rows = []
for t_c in [-20, -15, -10, -5, -2, 0]:
    p = _Ice(t_c + 273.15, 0.101325)
    rows.append([t_c, f"{p['rho']:.6f}", f"{p['cp'] * 1e3:.5f}"])
write("ice_ih.csv", ["t_c", "rho", "cp"], rows)
