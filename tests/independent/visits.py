"""Random visits with the figures that they must give, worked out without any code of this project.

Usage: python3 visits.py FOLDER COUNT SEED
Writes FOLDER/v0000.yaml … and FOLDER/expected.json. Only Python's own library is used: exact fractions and decimals for the
sums, `statistics.linear_regression` as a second opinion on each slope.

Formulas: pH of a buffer at temperature, pH = A/T + B + C·T + D·T² (NBS Special Publication 260-53; coefficients as
printed there, from memory, and confirmed by its tables); k(T) = ln 10 · R · T / F with the exact SI constants of 2019;
E = E7 + eta · k(T) · (7 − pH), ordinary least squares.
"""

import json
import random
import statistics
import sys
from decimal import Decimal, getcontext
from pathlib import Path

getcontext().prec = 50
R = Decimal("8.31446261815324")
F = Decimal("96485.3321233100184")
LN10 = Decimal(10).ln()

BUFFERS = {  # A, B, C, D, valid from, valid to (°C)
    "tetroxalate": ("-362.76", "6.1765", "-0.01871", "2.5847e-05", 0, 95),
    "tartrate": ("-1727.96", "23.7406", "-0.075947", "9.2873e-05", 25, 95),
    "citrate": ("1280.4", "-4.165", "0.01223", "0", 0, 50),
    "phthalate": ("0", "6.6146", "-0.018509", "3.2721e-05", 0, 95),
    "phosphate": ("3459.39", "-21.0574", "0.073301", "-6.2266e-05", 0, 95),
    "phosphate 1:3.5": ("5706.61", "-43.9428", "0.154785", "-0.000156745", 0, 50),
    "borax": ("5259.02", "-33.1064", "0.114826", "-0.00010786", 0, 95),
    "carbonate": ("2557.1", "-4.2846", "0.019185", "0", 0, 50),
    "calcium hydroxide": ("7613.65", "-38.5892", "0.119217", "-0.000112918", 0, 60),
}


def kelvin(celsius):
    return Decimal(celsius) + Decimal("273.15")


def nernst(celsius):
    return 1000 * LN10 * R * kelvin(celsius) / F  # mV


def buffer_ph(name, celsius):
    a, b, c, d = (Decimal(x) for x in BUFFERS[name][:4])
    t = kelvin(celsius)
    return a / t + b + c * t + d * t * t


def fit(readings):
    """readings: (buffer, celsius text, mv text); every figure as a Decimal of 50 digits."""
    x = [nernst(t) * (7 - buffer_ph(b, t)) for b, t, _ in readings]
    y = [Decimal(mv) for _, _, mv in readings]
    n = len(readings)
    sx, sy = sum(x), sum(y)
    sxx, sxy = sum(v * v for v in x), sum(v * w for v, w in zip(x, y))
    eta = (n * sxy - sx * sy) / (n * sxx - sx * sx)  # normal equations, not centred
    e7 = (sy - eta * sx) / n
    second = statistics.linear_regression([float(v) for v in x], [float(v) for v in y])
    assert abs(second.slope - float(eta)) < 1e-9 and abs(second.intercept - float(e7)) < 1e-7
    mean_t = sum(Decimal(t) for _, t, _ in readings) / n
    residual = [w - (e7 + eta * v) for v, w in zip(x, y)]
    figures = {
        "slope_percent": 100 * eta,
        "slope_mv_per_ph_25c": eta * nernst("25"),
        "slope_mv_per_ph": eta * nernst(mean_t),
        "mean_temperature_c": mean_t,
        "offset_mv": e7,
        "zero_point_ph": 7 + e7 / (eta * nernst(mean_t)) if 100 * eta >= 20 else None,
        "residual_sd_mv": (sum(r * r for r in residual) / (n - 2)).sqrt() if n > 2 else None,
    }
    rows = [
        {
            "buffer_ph": float(buffer_ph(b, t)),
            "nernst_mv_per_ph": float(nernst(t)),
            "fitted_mv": float(e7 + eta * v),
            "residual_ph": float(r / (-eta * nernst(t))),
        }
        for (b, t, _), v, r in zip(readings, x, residual)
    ]
    return {k: None if v is None else float(v) for k, v in figures.items()} | {"readings": rows}


def visit(dice, number):
    base = dice.choice([5, 12, 18, 21, 25, 33])
    names = [n for n, row in BUFFERS.items() if row[4] <= base - 1 and base + 1 <= row[5]]
    while True:
        chosen = dice.sample(names, dice.randint(2, 5))
        levels = sorted(float(buffer_ph(n, base)) for n in chosen)
        if levels[-1] - levels[0] >= 1.2:
            break
    eta, e7 = dice.uniform(0.72, 1.02), dice.uniform(-45, 45)
    readings = []
    for name in chosen:
        for _ in range(dice.choice([1, 1, 2, 3])):
            t = f"{base + dice.uniform(-0.9, 0.9):.1f}"
            true = e7 + eta * float(nernst(t) * (7 - buffer_ph(name, t)))
            readings.append((name, t, f"{true + dice.gauss(0, 0.6):.{dice.choice([0, 1, 2])}f}"))
    dice.shuffle(readings)
    shorts = {name: f"S{i}" for i, name in enumerate(sorted(chosen))}
    lines = [
        "visit:",
        f"  number: R-{number:04d}",
        "  started: 2026-04-17T08:40+01:00",
        "  client: { name: Random client }",
        "  technicians: [Random technician]",
        "  standards:",
        *(f"    {short}: {{ buffer: {json.dumps(name)} }}" for name, short in shorts.items()),
        "loops:",
        "  - tag: AIT-1",
        "    quantity: pH",
        "    probe: P-1",
        "    as_found:",
        "      readings:",
        *(f"        - {{ in: {shorts[b]}, mv: {mv}, temperature: {t} }}" for b, t, mv in readings),
        "    adjusted: false",
        "    outcome: returned to service",
        "",
    ]
    return "\n".join(lines), fit(readings)


def main(folder, count, seed):
    dice = random.Random(seed)
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    expected = {}
    for number in range(count):
        text, figures = visit(dice, number)
        (folder / f"v{number:04d}.yaml").write_text(text, encoding="utf-8")
        expected[f"R-{number:04d}"] = figures
    (folder / "expected.json").write_text(json.dumps(expected), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
