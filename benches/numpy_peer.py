#!/usr/bin/env python3
"""The freeze kernel as an analyst would write it with NumPy, vectorised over the members.

    cargo bench --bench freeze_kernel -- --export /tmp/kernel.json
    python3 benches/numpy_peer.py /tmp/kernel.json

Reads the inputs and answers of one case, solves the same equations (two-stage implicit scheme, enthalpy, mixing
by density, films renewed each hour), checks that first ice and coldest water are the same, and prints both times.
Damage is left out here, which favours the peer.
"""
import json
import sys
import time

import numpy as np

GAMMA = 1 - 1 / np.sqrt(2)
LATENT, CW, CI, KI, RHO, SIGMA, DENSEST, ZERO = 333550.0, 4217.6, 2100.0, 2.22, 999.84, 5.670374419e-8, 3.98, 273.15


def calmed(link, now):
    """Mixing of a step, W/K: where it turns back from where it went, half of the step before."""
    before, earlier = link.get("before", np.zeros_like(now)), link.get("earlier", np.zeros_like(now))
    mixed = np.where((now - before) * (before - earlier) < 0, 0.5 * (now + before), now)
    link["before"], link["earlier"] = mixed, before
    return mixed


def run(case):
    parts, links, ground, chain = case["parts"], case["links"], case["ground"], case["chain"]
    n, m = len(parts), len(case["shelter"])
    water = np.array([p["water_kg"] for p in parts])[:, None]
    metal = np.array([p["metal_j_per_k"] for p in parts])[:, None]
    area = np.array([p["area_m2"] for p in parts])[:, None]
    ins = np.array([p["insulation_m2k_per_w"] for p in parts])[:, None]
    bore = np.array([p["bore_m"] for p in parts])[:, None]
    ice_r = 1 / (4 * np.pi * KI * water / (RHO * np.pi / 4 * bore**2))
    liquid, solid = metal + CW * water, metal + CI * water
    still = np.zeros((n, 1))
    for l in links:
        still[l["a"]] += l["g"]
        still[l["b"]] += l["g"]
    for l in ground:
        still[l["part"]] += l["g"]
    factor = np.array(case["wind_factor"])[:, None]
    shelter, nucleation = np.array(case["shelter"]), np.array(case["nucleation_c"])
    air_all = np.array(case["air_c"])
    per_hour = round(3600 / case["step_s"])
    dt = 3600 / per_hour
    eps, view = case["emissivity"], case["sky_view"]

    t, ice = np.zeros((n, m)), np.zeros((n, m))
    surface = np.zeros((n, m))
    first_ice, coldest = np.full(m, np.inf), np.full(m, np.inf)
    neighbours = [[l["b"] if l["a"] == i else l["a"] for l in links if i in (l["a"], l["b"])] for i in range(n)]

    def films(hour):
        air = air_all[hour]
        near = air + ZERO
        sky = near * case["sky_ratio"][hour]
        conv = np.empty((n, m))
        for i in range(n):
            fit = case["films"][case["film_of"][i]]
            root = np.minimum(np.sqrt(case["wind_m_s"][hour] * factor[i] * shelter), 7.0)
            hf = fit["differences"][-1]
            for d, x in zip(fit["differences"][-2::-1], fit["points"][-2::-1]):
                hf = hf * (root - x) + d
            hf = root * hf + fit["at_rest"]
            hn = (fit["free_a"] + fit["free_b"] * np.maximum(np.abs(surface[i] - air), 1e-6) ** (1 / 6)) ** 2
            conv[i] = (hf**4 + hn**4) ** 0.25
        s = surface + ZERO
        to_sky = view * eps * SIGMA * (s**2 + sky**2) * (s + sky)
        to_near = (1 - view) * eps * SIGMA * (s**2 + near**2) * (s + near)
        film = conv + to_sky + to_near
        outside = ((conv + to_near) * near + to_sky * sky) / film - ZERO
        return film, outside, area / (1 / film + ins)

    for hour in range(len(case["wind_m_s"])):
        film, outside_hour, g_hour = films(hour)
        if hour == 0:
            t = np.maximum(outside_hour, 4.0)
            surface = t.copy()
            film, outside_hour, g_hour = films(hour)
        for step in range(per_hour):
            shift = (step + 0.5) / per_hour * (air_all[hour + 1] - air_all[hour])
            outside = outside_hour + shift
            has = ice > 0
            mushy = has & (ice < water)
            freezing = outside < 0
            layer = np.where(ice >= water, 0.5, np.where(freezing, -np.log1p(-np.minimum(ice / water, 0.999999)), 0.0))
            g = np.where(has, g_hour / (1 + g_hour * ice_r * layer), g_hour)
            cap = np.where(has, solid, liquid) / (GAMMA * dt)
            fixed = g * outside
            diag = cap + g
            gl = []
            for l in links:
                lower, upper = (l["a"], l["b"]) if l["a_is_lower"] else (l["b"], l["a"])
                mix = np.sqrt(np.maximum((t[lower] - DENSEST) ** 2 - (t[upper] - DENSEST) ** 2, 0))
                k = l["g"] + calmed(l, l["mixing"] * mix)
                gl.append(k)
                diag[l["a"]] += k
                diag[l["b"]] += k
            for l in ground:
                mix = np.sqrt(np.maximum((l["t"] - DENSEST) ** 2 - (t[l["part"]] - DENSEST) ** 2, 0))
                k = l["g"] + calmed(l, l["mixing"] * mix)
                diag[l["part"]] += k
                fixed[l["part"]] += k * l["t"]

            def flux(s):
                f = fixed - (diag - cap) * s
                for l, k in zip(links, gl):
                    f[l["a"]] += k * s[l["b"]]
                    f[l["b"]] += k * s[l["a"]]
                return f

            # What is left of a change of phase that ends in the step enters evenly over the step.
            held, melts, freezes = mushy, np.zeros((n, m), bool), np.zeros((n, m), bool)

            def let_go(f, past):
                nonlocal held, melts, freezes, fixed, cap, diag
                after = -LATENT * ice + f * dt
                fr = held & (after < -LATENT * water - past * solid)
                me = held & (after > past * liquid)
                fixed = fixed + np.where(fr, LATENT * (water - ice), np.where(me, -LATENT * ice, 0.0)) / dt
                more = np.where(me, (liquid - solid) / (GAMMA * dt), 0.0)
                cap, diag = cap + more, diag + more
                held, melts, freezes = held & ~fr & ~me, melts | me, freezes | fr
                return (fr | me).any()

            def solve():
                free = np.where(held, 0.0, 1.0)
                pivot, inv, cp = diag.copy(), np.empty((n, m)), np.zeros((n, m))
                for leaf in range(chain, n):
                    inv[leaf] = free[leaf] / pivot[leaf]
                    pivot[links[leaf - 1]["a"]] -= gl[leaf - 1] ** 2 * inv[leaf]
                for i in range(chain):
                    if i:
                        pivot[i] -= gl[i - 1] * cp[i - 1]
                    inv[i] = free[i] / pivot[i]
                    if i + 1 < chain:
                        cp[i] = gl[i] * inv[i]

                def sweep(rhs):
                    right, s = rhs.copy(), np.empty((n, m))
                    for leaf in range(chain, n):
                        right[links[leaf - 1]["a"]] += gl[leaf - 1] * inv[leaf] * rhs[leaf]
                    for i in range(chain):
                        s[i] = (right[i] + (gl[i - 1] * s[i - 1] if i else 0)) * inv[i]
                    for i in range(chain - 2, -1, -1):
                        s[i] += cp[i] * s[i + 1]
                    for leaf in range(chain, n):
                        s[leaf] = (rhs[leaf] + gl[leaf - 1] * s[links[leaf - 1]["a"]]) * inv[leaf]
                    return s

                s1 = sweep(cap * t + fixed)
                return s1, sweep(cap * (t + (1 - GAMMA) / GAMMA * (s1 - t)) + fixed)

            icy = mushy.any()
            if icy:
                let_go(flux(t), 0.0)
            s1, s2 = solve()
            gained = np.zeros((n, m))
            for more in range(4 if icy else 0):
                f = (1 - GAMMA) * flux(s1) + GAMMA * flux(s2)
                gained = dt * f
                if more == 3 or not let_go(f, 0.02):
                    break
                s1, s2 = solve()
            enthalpy = np.where(held, gained - LATENT * ice, np.where(has & ~melts, solid * s2 - LATENT * water, liquid * s2))
            seeded = np.array([sum(ice[j] for j in neighbours[i]) > 0 for i in range(n)])
            nucleates = (s2 < 0) & ((s2 <= nucleation) | seeded)
            stays = (enthalpy >= 0) | (~has & ~nucleates)
            mixed = enthalpy > -LATENT * water
            new_t = np.where(stays, np.where(has, enthalpy / liquid, s2), np.where(mixed, 0.0, (enthalpy + LATENT * water) / solid))
            new_ice = np.where(stays, 0.0, np.where(mixed, -enthalpy / LATENT, water))
            begun = (new_ice > 0) & ~has
            if begun.any():
                now = (hour * per_hour + step) * dt
                with np.errstate(divide="ignore", invalid="ignore"):
                    starts = np.where(seeded, 0.0, nucleation)
                    share = np.clip((t - starts) / (t - s2), 0, 1)
                at = np.where((t <= starts) | (t <= s2), now, now + dt * share)
                first_ice = np.minimum(first_ice, np.where(begun, at, np.inf).min(axis=0))
            t, ice = new_t, new_ice
            coldest = np.minimum(coldest, t.min(axis=0))
        out = outside_hour + shift
        surface = out + (t - out) / (1 + ins * film)
    return first_ice, coldest


def main():
    case = json.load(open(sys.argv[1]))
    begin = time.process_time()
    first_ice, coldest = run(case)
    seconds = time.process_time() - begin
    want = np.array([np.inf if x is None else x for x in case["answer"]["first_ice_s"]])
    assert (np.isinf(want) == np.isinf(first_ice)).all(), "the same members freeze"
    both = np.isfinite(want)
    worst_s = np.abs(want[both] - first_ice[both]).max()
    worst_k = np.abs(np.array(case["answer"]["coldest_c"]) - coldest).max()
    # The kernel takes the logarithm of the layer of ice to 1e-9 and the sixth root of free convection to 1e-4; all else is the same
    # arithmetic in another order.
    assert worst_s < 0.1 and worst_k < 1e-4, (worst_s, worst_k)
    print(f"same numbers: first ice within {worst_s:.2e} s, coldest water within {worst_k:.2e} K")
    print(f"peer {seconds * 1e3:.0f} ms, kernel {case['seconds'] * 1e3:.1f} ms, {seconds / case['seconds']:.0f} times slower")


main()
