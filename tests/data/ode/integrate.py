"""Integrates the two networks of networks.json over the cold spell apart from the program, and writes reference_*.csv.

From the program come only the networks (networks.json: masses, areas, conductances). All that follows is written anew here:
films from the published correlations evaluated continuously at the momentary surface temperature (the program renews them each
hour and uses tables), radiation with fourth powers, Berdahl-Martin sky, mixing from the momentary temperatures, the enthalpy
of each part, ice as a growing shell, and SciPy's Radau method with error control. Run: pip install numpy scipy && python integrate.py
"""

import csv
import json
import math
import pathlib

import numpy as np
from scipy.integrate import solve_ivp

here = pathlib.Path(__file__).parent

LATENT, C_WATER, C_ICE, K_ICE, RHO_WATER = 333550.0, 4217.6, 2100.0, 2.22, 999.84
SIGMA, GRAVITY, FILM_K, PRESSURE = 5.670374419e-8, 9.80665, 270.0, 101325.0
DENSEST = 3.98


def air(t):
    """US Standard Atmosphere 1976: viscosity, conductivity; ideal gas; cp 1006."""
    mu = 1.458e-6 * t**1.5 / (t + 110.4)
    k = 2.64638e-3 * t**1.5 / (t + 245.4 * 10 ** (-12 / t))
    nu = mu * 287.05287 * t / PRESSURE
    return nu, k, 1006.0 * mu / k


NU, K_AIR, PR = air(FILM_K)


def convection(wind, d, delta):
    """Churchill-Bernstein and Churchill-Chu, fourth-power blend, W/m2K."""
    re = wind * d / NU
    forced = 0.3 + 0.62 * np.sqrt(re) * PR ** (1 / 3) / (1 + (0.4 / PR) ** (2 / 3)) ** 0.25 * (1 + (re / 282000) ** 0.625) ** 0.8
    ra = GRAVITY / FILM_K * np.abs(delta) * d**3 / NU**2 * PR
    free = (0.60 + 0.387 * ra ** (1 / 6) / (1 + (0.559 / PR) ** (9 / 16)) ** (8 / 27)) ** 2
    return K_AIR / d * (forced**4 + free**4) ** 0.25


class Case:
    def __init__(self, told):
        self.told = told
        col = lambda key: np.array([p[key] for p in told["parts"]])
        self.water, self.metal, self.area = col("water_kg"), col("metal_j_per_k"), col("outside_area_m2")
        self.d, self.bore, self.wind_factor = col("outside_diameter_m"), col("bore_m"), col("wind_factor")
        assert not np.any(col("insulation_m2k_per_w")), "bare parts only"
        self.n = len(self.water)
        length = self.water / (RHO_WATER * math.pi / 4 * self.bore**2)
        self.shell = 1 / (4 * math.pi * K_ICE * length)
        self.liquid, self.solid = self.metal + C_WATER * self.water, self.metal + C_ICE * self.water
        lk = told["links"]
        self.a, self.b = np.array([l["a"] for l in lk]), np.array([l["b"] for l in lk])
        self.g0, self.mix = np.array([l["conductance_w_per_k"] for l in lk]), np.array([l["mixing_w_per_k2"] for l in lk])
        up = np.array([l["a_is_lower"] for l in lk])
        self.lower, self.upper = np.where(up, self.a, self.b), np.where(up, self.b, self.a)
        gr = told["ground"]
        self.gp = np.array([g["part"] for g in gr])
        self.gg0, self.gmix = np.array([g["conductance_w_per_k"] for g in gr]), np.array([g["mixing_w_per_k2"] for g in gr])
        self.gt = np.array([g["temperature_c"] for g in gr])

    def state(self, h):
        frozen = -LATENT * self.water
        t = np.where(h >= 0, h / self.liquid, np.where(h > frozen, 0.0, (h - frozen) / self.solid))
        return t, np.clip(-h / (LATENT * self.water), 0, 1)

    def films(self, surface, air_c, air_k, sky_k, wind):
        """Convection, and radiation to the sky and to the surroundings, W/m2K."""
        eps, view, s = self.told["emissivity"], self.told["sky_view"], surface + 273.15
        h_c = convection(wind * self.wind_factor, self.d, surface - air_c)
        h_s = eps * SIGMA * view * (s**2 + sky_k**2) * (s + sky_k)
        h_a = eps * SIGMA * (1 - view) * (s**2 + air_k**2) * (s + air_k)
        return h_c, h_s, h_a

    def outside(self, t, ice, air_c, wind, ratio):
        """Heat from the air and the sky, W; the surface is found so that what passes the ice leaves it."""
        air_k = air_c + 273.15
        sky_k = ratio * air_k
        # Ice grows inward, heat passes its layer; it melts from the wall, where nothing is in the way; a cylinder all of ice has
        # half a unit of that resistance between its mean and its surface. Which way heat goes shows with no layer at all.
        h_c, h_s, h_a = self.films(t, air_c, air_k, sky_k, wind)
        freezing = (h_c + h_a) * (air_c - t) + h_s * (sky_k - 273.15 - t) < 0
        layer = np.where(ice >= 1, 0.5, np.where(freezing, -np.log1p(-np.minimum(ice, 0.999999)), 0.0))
        through = self.shell * layer * self.area  # m2K/W of outside area
        surface = t.copy()
        for _ in range(60):
            h_c, h_s, h_a = self.films(surface, air_c, air_k, sky_k, wind)
            # Balance at the surface: (t - surface)/through = h_c (surface - air) + ...
            total = h_c + h_s + h_a
            new = (t + through * ((h_c + h_a) * air_c + h_s * (sky_k - 273.15))) / (1 + through * total)
            if np.max(np.abs(new - surface)) < 1e-11:
                break
            surface = new
        return self.area * ((h_c + h_a) * (air_c - surface) + h_s * (sky_k - 273.15 - surface))

    def rate(self, h, air_c, wind, ratio):
        t, ice = self.state(h)
        out = self.outside(t, ice, air_c, wind, ratio)
        deficit = lambda x: (x - DENSEST) ** 2
        g = self.g0 + self.mix * np.sqrt(np.maximum(deficit(t[self.lower]) - deficit(t[self.upper]), 0))
        q = g * (t[self.a] - t[self.b])
        np.subtract.at(out, self.a, q)
        np.add.at(out, self.b, q)
        gg = self.gg0 + self.gmix * np.sqrt(np.maximum(deficit(self.gt) - deficit(t[self.gp]), 0))
        np.add.at(out, self.gp, gg * (self.gt - t[self.gp]))
        return out


def record(name):
    lines = [line for line in open(here / name) if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    return [np.array([float(r[c]) for r in rows]) for c in ("air_c", "dew_c", "wind_m_s")]


def sky_ratio(air_c, dew_c):
    d = min(dew_c, air_c) / 100
    return (0.711 + 0.56 * d + 0.73 * d * d) ** 0.25


def integrate(told):
    case = Case(told)
    air_c, dew_c, wind = record(told["record"])
    first, hours = told["first_hour"], told["hours"]
    node = lambda hour: air_c[min(first + hour, len(air_c) - 1)]
    # The start that the program takes: the balance temperature, not below 4 degC (air at 5.6 degC, so above it or at it).
    ratio = sky_ratio(air_c[first], dew_c[first])
    t = np.maximum(start_balance(case, node(0), wind[first], ratio), 4.0)
    h = case.liquid * t
    rows, first_ice = [], [math.inf] * case.n
    for hour in range(hours):
        a0, a1 = node(hour), node(hour + 1)
        w, ratio = wind[first + hour], sky_ratio(air_c[first + hour], dew_c[first + hour])
        f = lambda s, y: case.rate(y, a0 + (a1 - a0) * s / 3600, w, ratio)
        t, ice = case.state(h)
        rows.append([hour * 3600] + [f"{x:.5f}" for x in t] + [f"{x:.6f}" for x in ice])
        # rtol acts on enthalpies of 1e2 to 1e5 J; atol 1e-2 J is under 1e-4 K of the smallest part.
        got = solve_ivp(f, (0, 3600), h, method="Radau", rtol=1e-7, atol=1e-2, dense_output=True, max_step=300)
        assert got.success, got.message
        fine = np.linspace(0, 3600, 721)
        y = got.sol(fine)
        for i in range(case.n):
            below = np.nonzero(y[i] < 0)[0]
            if len(below) and math.isinf(first_ice[i]):
                first_ice[i] = hour * 3600 + fine[below[0]]
        h = got.y[:, -1]
    return case, rows, first_ice


def start_balance(case, air_c, wind, ratio):
    """Outside temperature of the model at its start, with the films of a surface at 0 degC, as the program begins."""
    zero = np.zeros(case.n)
    air_k = air_c + 273.15
    sky_k = ratio * air_k
    s = 273.15
    h_c = convection(wind * case.wind_factor, case.d, zero - air_c)
    eps, view = case.told["emissivity"], case.told["sky_view"]
    h_s = eps * SIGMA * view * (s**2 + sky_k**2) * (s + sky_k)
    h_a = eps * SIGMA * (1 - view) * (s**2 + air_k**2) * (s + air_k)
    return ((h_c + h_a) * air_c + h_s * (sky_k - 273.15)) / (h_c + h_s + h_a)


if __name__ == "__main__":
    for told in json.load(open(here / "networks.json")):
        case, rows, first_ice = integrate(told)
        stem = told["record"].split("_")[0]
        header = ["time_s"] + [f"t{i}" for i in range(case.n)] + [f"ice{i}" for i in range(case.n)]
        with open(here / f"reference_{stem}.csv", "w", newline="") as f:
            f.write(f"# {told['case']}: water degC and ice fraction of each part at each hour; see ../PROVENANCE.md\n")
            out = csv.writer(f, lineterminator="\n")
            out.writerow(header)
            out.writerows(rows)
        with open(here / f"first_ice_{stem}.csv", "w", newline="") as f:
            f.write(f"# {told['case']}: first ice of each part, s from the start of the spell\n")
            out = csv.writer(f, lineterminator="\n")
            out.writerow(["part", "first_ice_s"])
            out.writerows([i, "" if math.isinf(s) else f"{s:.0f}"] for i, s in enumerate(first_ice))
        print(told["case"], first_ice)
