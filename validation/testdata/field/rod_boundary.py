"""Rise of an isothermal rod in a half-space with a held surface: boundary elements.

Writes rod_boundary.csv, the numbers that validation/field_test.go compares with. It
shares nothing with the program: no mesh of the ground, no time steps.

The heat that leaves the rod is a density sigma on its surface (side and both flat
ends), constant on rings narrow towards the edges. In the Laplace domain a point source
spreads as exp(-k R)/(4 pi lambda R), k = sqrt(s/alpha), less its image above a held
surface, plus its image above an insulated one. sigma is such that all rings have one temperature, and one watt gives Z(s). That layer
warms ground inside the rod's surface as well, which is taken off, and the rod's own
store of C joule a kelvin put in its place: Z' = 1/(1/Z - Y_inside + s C). Z' is the transform of a decaying
response, fitted by sum c_i/(1 + s tau_i) with c_i >= 0; each term answers the metered
power, straight between its rows, in closed form.

Run: python3 rod_boundary.py  (needs numpy; some minutes)
"""
import csv
import os

import numpy as np

LAM, CAP = 0.262, 1750.0 * 745.0
A, L, TOP = 0.00629, 0.400, 0.019
C_ROD = 0.1e6 * np.pi * A * A * L
HERE = os.path.dirname(os.path.abspath(__file__))
GX, GW = np.polynomial.legendre.leggauss(8)


def elliptic(m1):
    """Complete elliptic integral K by the arithmetic-geometric mean, m1 = 1 - m."""
    x, y = np.ones_like(m1), np.sqrt(m1)
    for _ in range(12):
        x, y = (x + y) / 2, np.sqrt(x * y)
    return np.pi / (2 * x)


def rings(n):
    """Edges of the panels, finer towards the rod's edges: (r0, z0, r1, z1)."""
    t = np.linspace(0, 1, n + 1)
    t = t**3 / (t**3 + (1 - t) ** 3)
    z = TOP + L * t
    side = [(A, z[i], A, z[i + 1]) for i in range(n)]
    m = n // 3
    r = A * (1 - (1 - np.linspace(0, 1, m + 1)) ** 3)
    ends = [(r[i], at, r[i + 1], at) for at in (TOP, TOP + L) for i in range(m)]
    return np.array(side + ends)


def matrices(n, ks, image_sign):
    """4 pi lambda times the temperature at each ring's middle from each ring's unit
    density, for each k, and the rings' areas."""
    s = rings(n)
    count = len(s)
    r, z = (s[:, 0] + s[:, 2]) / 2, (s[:, 1] + s[:, 3]) / 2
    length = np.hypot(s[:, 2] - s[:, 0], s[:, 3] - s[:, 1])
    area = 2 * np.pi * r * length

    def steady(rc, zc, rp, zp):
        sum2 = (rc + rp) ** 2 + (zc - zp) ** 2
        return 2 / np.pi * elliptic(((rc - rp) ** 2 + (zc - zp) ** 2) / sum2) / np.sqrt(sum2)

    def over(j, u0, u1, rows):
        u = (u0 + u1) / 2 + (u1 - u0) / 2 * GX
        w = GW * (u1 - u0) / 2 * length[j]
        rp, zp = s[j, 0] + (s[j, 2] - s[j, 0]) * u, s[j, 1] + (s[j, 3] - s[j, 1]) * u
        rc, zc = r[rows][:, None], z[rows][:, None]
        return ((steady(rc, zc, rp, zp) + image_sign * steady(rc, zc, rp, -zp)) * w * 2 * np.pi * rp).sum(1)

    base = np.zeros((count, count))
    everyone = np.arange(count)
    for j in range(count):
        base[:, j] = over(j, 0, 1, everyone)
        d = s[j, 2:] - s[j, :2]
        # Near a ring its kernel is a logarithm: halve the panel towards the point.
        for i in np.where(np.hypot(r - r[j], z - z[j]) < 3 * length[j])[0]:
            c = min(max(((r[i] - s[j, 0]) * d[0] + (z[i] - s[j, 1]) * d[1]) / length[j] ** 2, 0), 1)
            total = 0.0
            for whole, sign in ((c, -1), (1 - c, 1)):
                if whole < 1e-14:
                    continue
                for k in range(40):
                    far, near = whole * 0.5**k, whole * 0.5 ** (k + 1) if k < 39 else 0
                    u = (c - far, c - near) if sign < 0 else (c + near, c + far)
                    total += over(j, *u, np.array([i]))[0]
            base[i, j] = total

    # What decay takes off, (exp(-kR) - 1)/R, is bounded: a plain quadrature, round
    # the ring in angles finer towards the point.
    t, w = np.polynomial.legendre.leggauss(24)
    t, w = (t + 1) / 2, w / 2
    angle, weight = np.pi * t**2, w * np.pi * 2 * t * 2
    out = [base.copy() for _ in ks]
    for j in range(count):
        gx, gw = np.polynomial.legendre.leggauss(4)
        for u, wu in zip((gx + 1) / 2, gw / 2):
            rp, zp = s[j, 0] + (s[j, 2] - s[j, 0]) * u, s[j, 1] + (s[j, 3] - s[j, 1]) * u
            across = r[:, None] ** 2 + rp**2 - 2 * r[:, None] * rp * np.cos(angle)
            direct = np.sqrt(across + (z[:, None] - zp) ** 2)
            image = np.sqrt(across + (z[:, None] + zp) ** 2)
            for m, k in zip(out, ks):
                f = np.expm1(-k * direct) / direct + image_sign * np.expm1(-k * image) / image
                m[:, j] += (f * weight).sum(1) * wu * length[j] * rp
    return out, area


def impedance(n, s, image_sign):
    """Z(s) [K/W] of the ground round the rod."""
    ks = np.sqrt(s * CAP / LAM)
    out, area = matrices(n, ks, image_sign)
    return np.array([1 / (4 * np.pi * LAM * (np.linalg.solve(m, np.ones(len(area))) * area).sum()) for m in out])


def inside(s):
    """What ground in the rod's place would take [W/K]: a cylinder warmed all round,
    2 pi lambda L x I1(x)/I0(x), x = k a. Its flat ends matter only where x is not
    small, in the first minutes. The quotient by its continued fraction."""
    x = A * np.sqrt(s * CAP / LAM)
    quotient = np.zeros_like(x)
    for n in range(60, 0, -1):
        quotient = x / (2 * n + x * quotient)
    return 2 * np.pi * LAM * L * x * quotient


def nonnegative(a, b):
    """Least squares with x >= 0. Source: Lawson and Hanson (1974), Solving Least
    Squares Problems, chapter 23 (from memory)."""
    n = a.shape[1]
    x, passive = np.zeros(n), np.zeros(n, bool)
    for _ in range(10 * n):
        g = a.T @ (b - a @ x)
        g[passive] = -np.inf
        if passive.all() or g.max() < 1e-14:
            break
        passive[np.argmax(g)] = True
        while True:
            y = np.zeros(n)
            y[passive] = np.linalg.lstsq(a[:, passive], b, rcond=None)[0]
            if y[passive].min() > 0:
                x = y
                break
            bad = passive & (y <= 0)
            step = (x[bad] / (x[bad] - y[bad])).min()
            x += step * (y - x)
            passive &= x > 1e-15
            x[~passive] = 0
    return x


def terms(n, image_sign=-1):
    """c_i [K/W] and tau_i [s] of Z', the largest misfit as a share, Z at rest."""
    s = np.logspace(-9, -2, 71)
    z0 = impedance(n, np.array([0.0]), image_sign)[0]
    z = impedance(n, s, image_sign)
    z = 1 / (1 / z - inside(s) + s * C_ROD)
    tau = np.logspace(1, 8, 141)
    fit = 1 / (1 + s[:, None] * tau)
    c = nonnegative(fit / z[:, None], np.ones(len(s)))
    return c, tau, np.abs(fit @ c / z - 1).max(), z0


def rises(c, tau, t, q, at):
    """Answer to the power q [W] at times t [s], straight between them."""
    state, out = np.zeros_like(tau), {}
    for a, b, p0, p1 in zip(t, t[1:], q, q[1:]):
        h = b - a
        x = h / tau
        decay = np.exp(-x)
        # dT/dt = (c q - T)/tau with q a line: exact.
        slope = (p1 - p0) / h
        state = state * decay + c * (-np.expm1(-x) * (p0 - slope * tau) + slope * h)
        if b in at:
            out[b] = state.sum()
    return out


def main():
    rows = [r for r in csv.reader(l for l in open(os.path.join(HERE, "heated-rod.csv")) if not l.startswith("#"))][1:]
    t, q = (np.array([float(r[i]) for r in rows]) for i in (0, 1))
    hours = [1, 2, 3, 5, 10, 24, 48, 96, 168]
    coarse, fine = (terms(n) for n in (40, 64))
    free = terms(64, +1)
    one, two = (rises(c, tau, t, q, [3600.0 * h for h in hours]) for c, tau, _, _ in (coarse, fine))
    loose = rises(free[0], free[1], t, q, [3600.0 * h for h in hours])
    with open(os.path.join(HERE, "rod_boundary.csv"), "w") as f:
        print("# Isothermal rod in a half-space with a held surface, by boundary elements (insulated_K: with an insulated one): written by rod_boundary.py, for the record in heated-rod.csv.", file=f)
        print("# other_K: rise_K on 40 panels along the side and not 64. misfit of the exponentials: %.1e and %.1e as a share of Z." % (coarse[2], fine[2]), file=f)
        print("# time_h = inf: at rest, for 1 W.", file=f)
        print("time_h,rise_K,other_K,insulated_K", file=f)
        for h in hours:
            print("%d,%.4f,%.4f,%.4f" % (h, two[3600.0 * h], one[3600.0 * h], loose[3600.0 * h]), file=f)
        print("inf,%.6f,%.6f,%.6f" % (fine[3], coarse[3], free[3]), file=f)


if __name__ == "__main__":
    main()
