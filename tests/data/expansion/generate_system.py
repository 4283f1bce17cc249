"""Writes sealed_system.csv, parallel_tanks.csv and gauge.csv: a second, independent computation of whole systems.

iapws 1.5.5 (IAPWS-IF97), CoolProp 8.0.0 (IAPWS-95), scipy and numpy, all from PyPI; the program has no part in these numbers.
Pipes: ASTM B88 copper tube type L 3/4 in (OD 0.875 in, wall 0.045 in) and ASTM F876 PEX SDR 9 1/2 in (OD 0.625 in, wall 0.070 in).
Elastic constants and expansion as the tables of handbooks have them (copper 17e6 psi, 0.34, 9.4e-6/F; PEX 1e5 psi, 0.45, 9.2e-5/F; steel
heater shell 7.146e-6/psi and 6.5e-6/F); thick-wall tube with closed ends (Lame).
Run: pip install iapws==1.5.5 CoolProp==8.0.0 scipy numpy; python generate_system.py
"""
import csv
import pathlib

import numpy as np
from CoolProp.CoolProp import PropsSI
from iapws.iapws97 import _Region1
from scipy.optimize import brentq

HERE = pathlib.Path(__file__).parent
PSI, ATM, GAL, IN, FT = 6894.757293168, 101325.0, 3.785411784, 0.0254, 0.3048


def kelvin(f):
    return (f - 32.0) / 1.8 + 273.15


def v97(t, p):
    return _Region1(t, p / 1e6)["v"]


def v95(t, p):
    return 1.0 / PropsSI("D", "T", t, "P", p, "Water")


def tube(od_in, wall_in, length_ft, e_psi, nu, alpha_f):
    """Volume (L), compliance (1/Pa), volume growth (1/K) of a tube: Lame, closed ends."""
    inner, outer = od_in - 2 * wall_in, od_in
    k2 = (outer / inner) ** 2
    compliance = (2 * (1 + nu) * k2 + 3 * (1 - 2 * nu)) / (e_psi * PSI * (k2 - 1))
    volume = np.pi / 4 * (inner * IN) ** 2 * length_ft * FT * 1e3
    return volume, compliance, 3 * alpha_f * 1.8


def copper(length_ft):
    return tube(0.875, 0.045, length_ft, 17e6, 0.34, 9.4e-6)


def pex(length_ft):
    return tube(0.625, 0.070, length_ft, 1e5, 0.45, 9.2e-5)


def heater(gal):
    return gal * GAL, 7.146e-6 / PSI, 3 * 6.5e-6 * 1.8


def held(tank, p):
    volume, charge, most = tank
    return min(max(volume * (1 - charge / p), 0.0), most)


def end(v, hot_parts, cold_parts, tanks, cold, hot, p1, leaked_l=0.0):
    """Pressure (Pa absolute) at which the water fits: each heated part at its own temperature share, tanks taking their part."""
    v1 = v(kelvin(cold), p1)
    rise = (hot - cold) / 1.8

    def over(p):
        water = room = 0.0
        for (volume, give, growth), share in hot_parts:
            t = kelvin(cold) + share * rise
            water += volume * v(t, p) / v1
            room += volume * (1 + growth * share * rise + give * (p - p1))
        for volume, give, _ in cold_parts:
            water += volume * v(kelvin(cold), p) / v1
            room += volume * (1 + give * (p - p1))
        taken = sum(held(tank, p) - held(tank, p1) for tank in tanks)
        return water - room - taken - leaked_l

    return brentq(over, 2e3 if over(2e3) > 0 else 5e4, 99e6, xtol=1e-2)


def psig(p):
    return f"{(p - ATM) / PSI:.4f}"


def absolute(gauge_psi):
    return gauge_psi * PSI + ATM


def sealed_system():
    with open(HERE / "sealed_system.csv", "w", newline="") as out:
        w = csv.writer(out)
        w.writerow(["heater_gal", "other_gal", "other_hot_f", "hot_pex_ft", "hot_copper_ft", "cold_copper_ft", "cold_pex_ft", "cold_f",
                    "hot_f", "start_psi", "if97_psi", "iapws95_psi"])
        for row in ((40, 0, 0, 0, 60, 40, 0, 50, 120, 60), (50, 0, 0, 100, 0, 0, 60, 50, 130, 60), (50, 0, 0, 40, 30, 20, 20, 45, 140, 55),
                    (80, 40, 120, 0, 0, 0, 0, 50, 150, 60), (40, 30, 115, 80, 20, 10, 10, 60, 140, 70), (30, 0, 0, 0, 10, 0, 0, 110, 118, 62)):
            gal, other, other_f, hp, hc, cc, cp, cold, hot, start = row
            parts = [(heater(gal), 1.0)]
            if other:
                parts.append((heater(other), (other_f - cold) / (hot - cold)))
            parts += [(pex(hp), 1.0)] * bool(hp) + [(copper(hc), 1.0)] * bool(hc)
            colds = [copper(cc)] * bool(cc) + [pex(cp)] * bool(cp)
            w.writerow([*row, *(psig(end(v, parts, colds, [], cold, hot, absolute(start))) for v in (v97, v95))])


def parallel_tanks():
    """Tanks side by side: the demand (gain at the limit pressure, nothing else giving) and the whole balance."""
    with open(HERE / "parallel_tanks.csv", "w", newline="") as out:
        w = csv.writer(out)
        w.writerow(["heater_gal", "cold_f", "hot_f", "static_psi", "limit_psi", "tanks", "usable_gal", "alone_psi", "with_give_psi"])
        for gal, cold, hot, static, limit, tanks in (
            (80, 50, 140, 60, 80, [(2, 60, None), (4.4, 60, None)]),
            (80, 50, 140, 60, 80, [(2, 40, None), (4.4, 60, None)]),
            (80, 50, 140, 60, 80, [(2, 70, None), (4.4, 55, 1.0)]),
            (120, 45, 150, 55, 80, [(8, 55, 2.5), (8, 50, 2.5), (2, 12, None)]),
            (50, 50, 120, 50, 75, [(2, 75, None), (2, 50, None)]),
            (50, 50, 130, 60, 80, [(4.4, 60, 0.5), (4.4, 60, 0.5)]),
        ):
            p1, p2 = absolute(static), absolute(limit)
            states = [(volume * GAL, absolute(charge), (volume if most is None else most) * GAL) for volume, charge, most in tanks]
            usable = sum(held(s, p2) - held(s, p1) for s in states)
            demand = gal * GAL * (v97(kelvin(hot), p2) / v97(kelvin(cold), p2) - 1)
            taken = lambda p: sum(held(s, p) - held(s, p1) for s in states) - demand
            alone = psig(brentq(taken, p1, 1e9, xtol=1e-2)) if taken(1e9) > 0 else ""
            give = psig(end(v97, [(heater(gal), 1.0)], [], states, cold, hot, p1))
            text = ";".join(f"{v}:{c}:{'' if m is None else m}" for v, c, m in tanks)
            w.writerow([gal, cold, hot, static, limit, text, f"{usable / GAL:.5f}", alone, give])


def gauge():
    """Readings as a gauge and a thermometer give them: true states with noise of 1 psi and 2.7 F (1.5 K), 40 samples each."""
    rng = np.random.default_rng(15)
    cases = [
        # name, tanks as told (gal, psi), tanks as they are, cold, hot, leak in gal/h while standing, closed
        ("bare", [], [], 110, 116, 0.0, True),
        ("good", [(4.4, 60)], [(4.4, 60)], 70, 130, 0.0, True),
        ("lost", [(4.4, 60)], [(4.4, 25)], 70, 130, 0.0, True),
        ("low", [(4.4, 60)], [(4.4, 40)], 70, 130, 0.0, True),
        ("waterlogged", [(2.0, 60)], [], 110, 116, 0.0, True),
        ("high", [(4.4, 60)], [(4.4, 80)], 70, 130, 0.0, True),
        ("two", [(2.0, 60), (4.4, 60)], [(2.0, 60), (4.4, 60)], 70, 130, 0.0, True),
        ("two-lost", [(2.0, 60), (4.4, 60)], [(2.0, 60), (4.4, 10)], 70, 130, 0.0, True),
        ("leak", [(4.4, 60)], [(4.4, 60)], 70, 130, 0.4, True),
        ("open", [], [], 70, 130, 0.0, False),
        ("open-with-tank", [(2.0, 60)], [(2.0, 60)], 70, 130, 0.0, False),
        ("faint", [(4.4, 60)], [(4.4, 60)], 110, 113, 0.0, True),
    ]
    with open(HERE / "gauge.csv", "w", newline="") as out:
        w = csv.writer(out)
        w.writerow(["case", "sample", "told_tanks", "charge_psi", "minute", "gauge_psi", "water_f", "doing"])
        for name, told, real, cold, hot, leak, closed in cases:
            p1 = absolute(60)
            parts = lambda share: [(heater(50 * share), 1.0), (copper(40), 1.0)]
            text = ";".join(f"{v}:{c}" for v, c in told)
            charge = real[0][1] if len(real) == 1 else ""
            for sample in range(40):
                # The label's volume is off, too.
                share = 1 + 0.05 * rng.standard_normal()
                tanks = [(v * GAL, absolute(c), v * GAL) for v, c in real]
                at = lambda f, leaked=0.0: end(v97, parts(share), [copper(30)], tanks, cold, f, p1, leaked) if closed else p1
                rows = [(0, 60.0, cold, "rest"), (2, 60.0, cold, "rest"), (4, 60.0, cold, "rest")]
                for step in range(1, 7):
                    f = cold + (hot - cold) * step / 6
                    rows.append((4 + 5 * step, (at(f) - ATM) / PSI, f, "heating"))
                for step in range(0, 5):
                    leaked = leak * GAL * (15 * step) / 60
                    f = hot - (hot - cold) * 0.01 * step
                    rows.append((40 + 15 * step, (at(f, leaked) - ATM) / PSI, f, "stand"))
                for minute, pressure, f, doing in rows:
                    w.writerow([name, sample, text, charge, minute, f"{pressure + rng.standard_normal():.2f}",
                                f"{f + (2.7 * rng.standard_normal() if hot - cold > 10 else 0.9 * rng.standard_normal()):.2f}", doing])


sealed_system()
parallel_tanks()
gauge()
