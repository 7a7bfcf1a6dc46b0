"""Uncertainties of every state of every record, worked out with GTC and laid beside those of the records.

Usage: halfcell check --format json FOLDER | python3 budgets.py
Needs the package GTC (Measurement Standards Laboratory of New Zealand), which propagates uncertain numbers by automatic
differentiation. Exit code 1 when a figure departs by more than 1e-6 of its value.

Model: E_i = mV read; x_i = k(T_i)·(7 − pH_i); slope and offset from the normal equations over uncertain numbers. Inputs and their
degrees of freedom as the method on the certificate says; what is known of standards and instruments is taken from the lists of
the record, the digits typed from the texts.
"""

import json
import math
import sys

import GTC

from visits import BUFFERS, F, LN10, R

ASSUMED = {"potential": 0.5 / math.sqrt(3), "temperature": 0.5 / math.sqrt(3)}
K_PER_KELVIN = float(1000 * LN10 * R / F)
AGREEMENT = 1e-6
COVERAGE = math.erf(math.sqrt(2))


def step(typed):
    """Size of the last digit of a number as typed; None where it carries a unit that was converted."""
    head = typed.replace("\u2212", "-").split()[0]
    unit = typed.split()[1] if len(typed.split()) > 1 else ""
    if unit not in ("", "mV", "\u00b0C"):
        return None
    return 10.0 ** -len(head.split(".")[1]) if "." in head else 1.0


def ph(standard, t):
    """pH of a standard at an uncertain temperature; None for tables."""
    if standard["kind"] not in BUFFERS or not standard["value_from"].startswith("published equation"):
        return None
    a, b, c, d = (float(x) for x in BUFFERS[standard["kind"]][:4])
    at = lambda kelvin: a / kelvin + b + c * kelvin + d * kelvin * kelvin
    shift = 0.0
    if standard["certified"]:
        value, temperature = standard["certified"]
        shift = float(value.split()[0]) - at(float(temperature.split()[0]) + 273.15)
    return at(t + 273.15) + shift


def instrument(record, measures, named):
    """Name and standard uncertainty of what measured."""
    of = [i for i in record["instruments"] if i["measures"] == measures]
    of = [i for i in of if i["name"] == named] or of
    known = lambda i: i["expanded_uncertainty"] / i["coverage_factor"] if i["expanded_uncertainty"] else math.inf
    worst = max(of, key=known, default=None)
    if worst is None or known(worst) == math.inf:
        return worst and worst["name"], ASSUMED[measures]
    return worst["name"], known(worst)


def standard_u(standard):
    if standard["expanded_uncertainty"]:
        return standard["expanded_uncertainty"] / standard["coverage_factor"]
    return (0.010 if standard["kind"] in BUFFERS else 0.020) / 2


def line(x, y):
    """Slope and intercept by the normal equations, over floats or uncertain numbers."""
    n, sx, sy = len(x), sum(x), sum(y)
    sxx, sxy = sum(v * v for v in x), sum(v * w for v, w in zip(x, y))
    slope = (n * sxy - sx * sy) / (n * sxx - sx * sx)
    return slope, (sy - slope * sx) / n


def state(record, figures, declared, inputs):
    """Uncertain slope (percent), offset and zero point of one set of readings; None where this script cannot model it."""
    standards = {s["name"]: s for s in record["standards"]}
    rows = [r for r in figures["readings"] if r["fitted_mv"] is not None]
    if not rows or figures["slope_percent"] is None:
        return None
    if any(ph(standards[r["in"]], 20.0) is None for r in rows):
        return None
    if any(step(r["mv_typed"]) is None or step(r["temperature_typed"]) is None for r in rows):
        return None
    k = lambda t: K_PER_KELVIN * (t + 273.15)
    x0 = [k(r["temperature_c"]) * (7 - ph(standards[r["in"]], r["temperature_c"])) for r in rows]
    y0 = [r["mv"] for r in rows]
    eta, e7 = line(x0, y0)
    residuals = [y - e7 - eta * x for x, y in zip(x0, y0)]
    names = sorted({r["in"] for r in rows})
    n, m = len(rows), len(names)
    members = {name: [i for i, r in enumerate(rows) if r["in"] == name] for name in names}
    means = {name: sum(residuals[i] for i in members[name]) / len(members[name]) for name in names}
    digit = sum(step(r["mv_typed"]) ** 2 / 12 for r in rows) / n
    s_w2 = 0.0
    if n > m:
        pooled = sum((residuals[i] - means[name]) ** 2 for name in names for i in members[name]) / (n - m)
        s_w2 = max(0.0, pooled - digit)
    u_r, nu_r = declared
    if m >= 3:
        j_mean = n / m
        s2 = sum(len(members[name]) * means[name] ** 2 for name in names) / (m - 2) / j_mean
        by_standard = []
        for name in names:
            t_mean = sum(rows[i]["temperature_c"] for i in members[name]) / len(members[name])
            by_standard.append((eta * k(t_mean) * standard_u(standards[name])) ** 2)
        s02 = sum(by_standard) / m + (digit + s_w2) / j_mean
        nu = nu_r + m - 2
        u_r, nu_r = math.sqrt((nu_r * u_r**2 + (m - 2) * max(0.0, s2 - s02)) / nu), nu

    def shared(kind, name, u):
        key = (kind, name)
        if key not in inputs:
            inputs[key] = GTC.ureal(0.0, u)
        return inputs[key]

    reproducibility = {name: GTC.ureal(0.0, u_r, nu_r, independent=False) for name in names}
    repeats = [GTC.ureal(0.0, math.sqrt(s_w2), n - m, independent=False) if s_w2 > 0 else 0.0 for _ in rows]
    x, y, temperatures = [], [], []
    for i, row in enumerate(rows):
        meter, meter_u = instrument(record, "potential", row["with"])
        thermometer, thermometer_u = instrument(record, "temperature", row["with"])
        t = row["temperature_c"] + shared("thermometer", thermometer, thermometer_u)
        t = t + GTC.ureal(0.0, step(row["temperature_typed"]) / math.sqrt(12))
        value = ph(standards[row["in"]], t) + shared("standard", row["in"], standard_u(standards[row["in"]]))
        e = row["mv"] + GTC.ureal(0.0, step(row["mv_typed"]) / math.sqrt(12)) + repeats[i]
        e = e + reproducibility[row["in"]] + shared("offset", meter, meter_u)
        e = e + row["mv"] / 180.0 * shared("gain", meter, meter_u)
        x.append(k(t) * (7 - value))
        y.append(e)
        temperatures.append(t)
    slope, offset = line(x, y)
    zero = 7 + offset / (slope * k(sum(temperatures) / n)) if eta >= 0.2 else None
    groups = {"reproducibility": (list(reproducibility.values()), nu_r), "repeats": ([r for r in repeats if s_w2 > 0], n - m)}
    return {"slope_percent": 100 * slope, "offset_mv": offset, "zero_point_ph": zero}, groups


def welch(quantity, groups):
    """Welch–Satterthwaite over effects, each of several inputs."""
    shares = 0.0
    for members, dof in groups:
        variance = sum(GTC.component(quantity, member) ** 2 for member in members)
        shares += variance**2 / dof if members else 0.0
    return GTC.uncertainty(quantity) ** 4 / shares if shares > 0 else math.inf


def main():
    compared, skipped, worst = 0, 0, 0.0

    def close(what, found, expected):
        nonlocal compared, worst
        off = abs(found - expected) / max(abs(expected), 1e-12)
        worst, compared = max(worst, off), compared + 1
        if not off <= AGREEMENT:
            sys.exit(f"{what}: {found} in the record, {expected} by GTC")

    for text in sys.stdin:
        record = json.loads(text)
        if record["quantity"] != "pH":
            continue
        inputs = {}
        declared = (record["limits"]["reproducibility"]["u_mv"], record["limits"]["reproducibility"]["dof"])
        before = None
        stages = [("as found", record["as_found"], None)]
        stages += [(f"after {r['remedy']}", r["after"], r) for r in record["remedies"] if r["after"]]
        stages += [("as left", record["as_left"], None)] if record["as_left"] else []
        for stage, figures, remedy in stages:
            name = f"{record['visit']['number']} {record['tag']} {stage}"
            modelled = state(record, figures, declared, inputs)
            if modelled is None:
                skipped += 1
                before = None if figures["readings"] else before
                continue
            quantities, groups = modelled
            for key, quantity in quantities.items():
                found = figures["uncertainty"][key]
                if quantity is None:
                    assert found is None, name
                    continue
                nu = welch(quantity, groups.values())
                close(f"{name} {key}", figures[key], GTC.value(quantity))
                close(f"{name} u({key})", found["standard"], GTC.uncertainty(quantity))
                close(f"{name} dof({key})", found["effective_dof"] or math.inf, nu) if math.isfinite(nu) else None
                factor = GTC.reporting.k_factor(nu, p=100 * COVERAGE)
                close(f"{name} U({key})", found["expanded"], factor * GTC.uncertainty(quantity))
                shares = sum(line[key]["share_percent"] for line in figures["budget"])
                close(f"{name} shares of {key}", shares, 100.0)
            if remedy and before:
                for key, told in (("slope_percent", "slope_gained_uncertainty"), ("offset_mv", "offset_moved_uncertainty")):
                    gained = quantities[key] - before[0][key]
                    nu = welch(gained, list(groups.values()) + list(before[1].values()))
                    factor = GTC.reporting.k_factor(nu, p=100 * COVERAGE)
                    close(f"{name} {told}", remedy[told], factor * GTC.uncertainty(gained))
            before = modelled
    print(f"{compared} figures compared, {skipped} states not modelled, largest departure {worst:.1e}")
    if compared == 0:
        sys.exit("nothing was compared")


main()
