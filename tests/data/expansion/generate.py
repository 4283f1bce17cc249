"""Writes fractions.csv, sealed.csv and with_tank.csv with iapws 1.5.5 (IAPWS-IF97) and CoolProp 8.0.0 (IAPWS-95), both from PyPI.

The program has no part in these numbers. Run: pip install iapws==1.5.5 CoolProp==8.0.0 scipy; python generate.py
"""
import csv
import pathlib

from CoolProp.CoolProp import PropsSI
from iapws.iapws97 import _Region1
from scipy.optimize import brentq

HERE = pathlib.Path(__file__).parent
PSI = 6894.757293168
ATM = 101325.0


def k(f):
    return (f - 32.0) / 1.8 + 273.15


def v97(t_k, p_pa):
    return _Region1(t_k, p_pa / 1e6)["v"]


def v95(t_k, p_pa):
    return 1.0 / PropsSI("D", "T", t_k, "P", p_pa, "Water")


def fractions():
    with open(HERE / "fractions.csv", "w", newline="") as out:
        w = csv.writer(out)
        w.writerow(["cold_f", "hot_f", "gauge_psi", "if97", "iapws95"])
        for gauge in (0.0, 25.0, 60.0, 80.0, 150.0):
            p = gauge * PSI + ATM
            for cold in (33.0, 36.0, 39.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 100.0):
                for hot in (39.0, 45.0, 60.0, 110.0, 120.0, 130.0, 140.0, 160.0, 180.0, 200.0, 210.0):
                    if hot <= cold:
                        continue
                    w.writerow([cold, hot, gauge, f"{v97(k(hot), p) / v97(k(cold), p) - 1:.9f}",
                                f"{v95(k(hot), p) / v95(k(cold), p) - 1:.9f}"])


def sealed_end(v, cold, hot, gauge, growth_per_k, stretch_per_pa):
    """Absolute pressure at which the water fits: v(T2, P) / v(T1, P1) = 1 + growth dT + stretch (P - P1)."""
    p1 = gauge * PSI + ATM
    v1 = v(k(cold), p1)
    rise = (hot - cold) / 1.8

    def over(p):
        return v(k(hot), p) / v1 - 1.0 - growth_per_k * rise - stretch_per_pa * (p - p1)

    # From just above the vapour pressure: below it a void opens and there is no such pressure.
    lowest = 1.001 * PropsSI("P", "T", k(hot), "Q", 0, "Water")
    return brentq(over, lowest, 99.9e6, xtol=1e-3)


def sealed():
    # growth 3 alpha (1/K) and compliance (1/Pa): rigid; steel heater shell; copper tube; plastic tubes
    walls = [
        ("rigid", 0.0, 0.0),
        ("steel-shell", 3 * 6.5e-6 * 1.8, 7.146e-6 / PSI),
        ("copper", 3 * 9.4e-6 * 1.8, 1.0408e-6 / PSI),
        ("cpvc", 3 * 3.4e-5 * 1.8, 2.484e-5 / PSI),
        ("pex", 3 * 9.2e-5 * 1.8, 7.816e-5 / PSI),
    ]
    with open(HERE / "sealed.csv", "w", newline="") as out:
        w = csv.writer(out)
        w.writerow(["wall", "growth_per_k", "stretch_per_pa", "cold_f", "hot_f", "start_gauge_psi",
                    "if97_gauge_psi", "iapws95_gauge_psi"])
        for name, growth, stretch in walls:
            for cold, hot, gauge in ((50, 51, 60), (50, 60, 60), (50, 120, 60), (60, 61, 60), (100, 101, 80), (110, 120, 60),
                                     (120, 121, 60), (120, 130, 60), (140, 141, 60), (40, 140, 70), (70, 160, 50)):
                ends = []
                for v in (v97, v95):
                    try:
                        ends.append(f"{(sealed_end(v, cold, hot, gauge, growth, stretch) - ATM) / PSI:.4f}")
                    except ValueError:
                        ends.append("")
                w.writerow([name, f"{growth:.9e}", f"{stretch:.9e}", cold, hot, gauge, *ends])


def with_tank():
    """A litre of heated water in walls that stretch, with a tank on it: water = room + what the tank takes."""
    walls = [("rigid", 0.0, 0.0), ("steel-shell", 3 * 6.5e-6 * 1.8, 7.146e-6 / PSI), ("copper", 3 * 9.4e-6 * 1.8, 1.0408e-6 / PSI)]
    with open(HERE / "with_tank.csv", "w", newline="") as out:
        w = csv.writer(out)
        w.writerow(["wall", "growth_per_k", "stretch_per_pa", "cold_f", "hot_f", "start_gauge_psi", "tank_l", "precharge_gauge_psi",
                    "most_water_l", "if97_gauge_psi", "iapws95_gauge_psi"])
        for name, growth, stretch in walls:
            for cold, hot, gauge, tank, precharge, most in (
                (50, 120, 60, 0.05, 60, 0.05), (50, 120, 60, 0.05, 40, 0.05), (50, 120, 60, 0.05, 70, 0.05),
                (50, 120, 60, 0.05, 12, 0.05), (50, 140, 55, 0.09, 50, 0.09), (40, 150, 70, 0.2, 65, 0.06),
                (50, 120, 60, 0.05, 40, 0.02),
            ):
                p1, pc = gauge * PSI + ATM, precharge * PSI + ATM
                rise = (hot - cold) / 1.8

                def held(p):
                    return min(max(tank * (1 - pc / p), 0.0), most)

                ends = []
                for v in (v97, v95):
                    v1 = v(k(cold), p1)

                    def over(p):
                        return v(k(hot), p) / v1 - 1 - growth * rise - stretch * (p - p1) - (held(p) - held(p1))

                    ends.append(f"{(brentq(over, p1, 99.9e6, xtol=1e-3) - ATM) / PSI:.4f}")
                w.writerow([name, f"{growth:.9e}", f"{stretch:.9e}", cold, hot, gauge, tank, precharge, most, *ends])


fractions()
sealed()
with_tank()
