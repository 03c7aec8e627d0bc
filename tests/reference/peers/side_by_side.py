#!/usr/bin/env python3
"""Samespot beside general-purpose libraries, in one session, by processor time.

    side_by_side.py YARDSTICK PEERS [KERNEL...] [--rounds N]

YARDSTICK is a copy of `../shared/yardstick` that was set up (its README): `venv` with numpy, scipy, matplotlib, vtk,
potpourri3d and libigl is enough, `rs/build.sh`'s native binary, and `data`. PEERS is our bench as built by
`cargo build -p samespot-tests --features yardstick --bin peers --profile tool`. Run it by the yardstick's own python.

Peers and ours take turns; the least of the rounds' medians counts for both. Kernels: stl boxes polar sheets network.
Ratios hold between machines; milliseconds do not.
"""
import json, os, subprocess, sys
import numpy as np

YARD, PEERS = sys.argv[1:3]
rest = sys.argv[3:]
ROUNDS = int(rest[rest.index("--rounds") + 1]) if "--rounds" in rest else 2
ASKED = [a for a in rest if a in ("stl", "boxes", "polar", "sheets", "network")] or ["stl", "boxes", "polar", "sheets", "network"]
DATA = os.path.join(YARD, "data")
ENV = dict(os.environ, BENCH_DATA=DATA, SAMESPOT_YARDSTICK=YARD)


def rows(command, cwd):
    said = subprocess.run(command, cwd=cwd, env=ENV, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=900).stdout.decode()
    return [json.loads(line) for line in said.splitlines() if line.startswith("{")]


native = lambda *a: rows([f"{YARD}/rs/target/release/native", *a], f"{YARD}/rs")
python = lambda script, *a: rows([f"{YARD}/venv/bin/python", f"{YARD}/bench/{script}", *a], YARD)
PEER = {
    "stl": lambda: native("stl", "bumpy_1m") + native("stl", "bumpyshuf_1m") + python("k1_load.py", "bumpy_1m", "--only", "vtk"),
    "boxes": lambda: native("bvh", "bumpy_1m") + python("k2_query.py", "bumpy_1m", "--only", "vtk"),
    "polar": lambda: python("k3_flatten.py", "cap_r100_20k", "--only", "potpourri3d,igl"),
    "sheets": lambda: native("out"),
    "network": lambda: native("net", "50"),
}
# kernel, size, goal, which peers count.
GOALS = [
    ("stl", "stl_weld", "bumpy_1m", 0.35, "vtk|stl_io"), ("stl", "stl_weld", "bumpyshuf_1m", 0.40, "stl_io"),
    ("boxes", "bvh_build", "bumpy_1m", 0.40, "parry3d|vtk"), ("boxes", "closest_near", "bumpy_1m", 0.40, "parry3d"),
    ("boxes", "closest_far", "bumpy_1m", 0.40, "parry3d"), ("boxes", "ray_random", "bumpy_1m", 0.40, "parry3d"),
    ("polar", "log_map", "cap_r100_20k", 0.10, "AffineLocal"), ("polar", "slim", "cap_r100_20k", 0.25, "SLIM sym-Dirichlet 5"),
    ("sheets", "svg_144", "144", 0.40, "svg 0.18"), ("sheets", "pdf_144_flate", "144", 0.50, "pdf-writer"),
    ("network", "network", "50", 0.70, "faer 0.24 dense"),
]


def least(all_rows):
    best = {}
    for r in all_rows:
        key = (r["kernel"], r["lib"], r["size"])
        if "cpu_s" in r and (key not in best or r["cpu_s"] < best[key]["cpu_s"]):
            best[key] = r
    return best


def flattened(patch):
    """How far our map is from the exact one (max, rms, mm; up to a rigid turn), its ln(greatest/least stretch) over
    the facets laid and that of the exact map, and facets turned over."""
    V = np.fromfile(f"{DATA}/{patch}.v.f64").reshape(-1, 3)
    F = np.fromfile(f"{DATA}/{patch}.f.u32", "<u4").reshape(-1, 3)
    exact = np.fromfile(f"{DATA}/{patch}.uv.f64").reshape(-1, 2)
    ours = np.fromfile(f"{DATA}/{patch}.samespot.f64").reshape(-1, 2)
    laid = ~np.isnan(ours[:, 0])
    F = F[laid[F].all(1)]
    e1, e2 = V[F[:, 1]] - V[F[:, 0]], V[F[:, 2]] - V[F[:, 0]]
    l1 = np.linalg.norm(e1, axis=1)
    x2, y2 = (e2 * e1).sum(1) / l1, np.linalg.norm(np.cross(e1, e2), axis=1) / l1

    def ln(u):
        g1 = (u[F[:, 1]] - u[F[:, 0]]) / l1[:, None]
        g2 = ((u[F[:, 2]] - u[F[:, 0]]) - g1 * x2[:, None]) / y2[:, None]
        s = np.linalg.svd(np.stack([g1, g2], 2), compute_uv=False)
        det = g1[:, 0] * g2[:, 1] - g1[:, 1] * g2[:, 0]
        return np.log(s[:, 0].max() / s[:, 1].min()), int(min((det < 0).sum(), (det > 0).sum()))

    q, p = ours[laid] - ours[laid].mean(0), exact[laid] - exact[laid].mean(0)
    u, _, vt = np.linalg.svd(q.T @ p)
    off = np.linalg.norm(q @ (u @ vt) - p, axis=1)
    (a, turned), (b, _) = ln(ours), ln(exact)
    return f"{laid.sum()} of {len(laid)} corners, {len(F)} facets: {off.max():.5f} mm at worst, {np.sqrt((off**2).mean()):.5f} rms; ln {a:.5f} (exact map {b:.5f}); {turned} turned over"


peers, ours = [], []
for _ in range(ROUNDS):
    for kernel in ASKED:
        peers += PEER[kernel]()
        ours += rows([PEERS, kernel], YARD)
peers, ours = least(peers), least(ours)
print("| kernel | size | ours ms | which | best peer ms | which | ratio | goal | ours says | peer says |\n|---|---|---:|---|---:|---|---:|---:|---|---|")
for asked, kernel, size, goal, which in GOALS:
    if asked not in ASKED:
        continue
    there = [r for (k, l, s), r in peers.items() if k == kernel and s == size and any(w in l for w in which.split("|"))]
    # On a cap the polar map is what stretches least: one map answers both.
    mine = [r for (k, _, s), r in ours.items() if k == ("log_map" if kernel == "slim" else kernel) and s == size]
    if not there:
        continue
    peer = min(there, key=lambda r: r["cpu_s"])
    for r in sorted(mine, key=lambda r: r["cpu_s"]):
        says = peer.get("check") or {k: v for k, v in (peer.get("acc") or {}).items() if k in ("pos_max_mm", "dist_ln_max")}
        print(f"| {kernel} | {size} | {r['cpu_s']*1e3:.4g} | {r['lib'][8:].lstrip(', ')} | {peer['cpu_s']*1e3:.4g} | {peer['lib']} | "
              f"{r['cpu_s']/peer['cpu_s']:.3f} | {goal} | {r['check']} | {says} |")
if "polar" in ASKED:
    for patch in ("cap_r60_20k", "cap_r100_20k", "cylpatch_20k"):
        print(f"{patch}: {flattened(patch)}")
