"""Straightest ways over a torus by Clairaut's relation, for tests/suite/two_radii.rs.

On a surface of revolution with girth radius rho(v) a way keeps rho*cos(bearing) = k (do Carmo 1976,
4-4 example 5). While it rises without turning back, its turn about the axis and its length are
    turn = int k / (rho sqrt(rho^2 - k^2)) dv,    length = int rho / sqrt(rho^2 - k^2) dv.
Both are taken by mpmath's quadrature at 30 digits: nothing here is shared with the core, which
integrates the differential equations and shoots. Needs Python with mpmath.
"""
import mpmath as mp

mp.mp.dps = 30
CASES = [
    # radius across, radius up (mm, negative in a hollow), v from, v to, share of the least girth
    (100, 250, -40, 70, "0.8"),
    (100, 250, 5, 120, "0.97"),
    (160, 155, -90, 60, "0.5"),
    (400, 90, -30, 80, "0.9"),
    (120, -300, -50, 45, "0.95"),
    (-120, 300, -20, 60, "0.6"),
    (-200, -350, -110, 90, "0.85"),
    (90, -60, -25, 30, "0.9"),
    (2000, 35, -20, 25, "0.99"),
    (150, 90000, -100, 140, "0.7"),
]
print("across,up,v_from,u_to,v_to,length,bearing_from_deg,bearing_to_deg")
for across, up, v0, v1, share in CASES:
    a, b = mp.mpf(across), mp.mpf(up)
    rho = lambda v: abs(a + b * (mp.cos(v / b) - 1))
    least = min(rho(v0 + (v1 - v0) * mp.mpf(i) / 400) for i in range(401))
    k = least * mp.mpf(share)
    turn = mp.quad(lambda v: k / (rho(v) * mp.sqrt(rho(v) ** 2 - k**2)), mp.linspace(v0, v1, 9))
    length = mp.quad(lambda v: rho(v) / mp.sqrt(rho(v) ** 2 - k**2), mp.linspace(v0, v1, 9))
    out = [turn * abs(a), length, mp.degrees(mp.acos(k / rho(v0))), mp.degrees(mp.acos(k / rho(v1)))]
    u, s, b0, b1 = [mp.nstr(x, 16, strip_zeros=False) for x in out]
    print(f"{across},{up},{v0},{u},{v1},{s},{b0},{b1}")
