//! Ways over scans beside those of general-purpose libraries on the same meshes: `reference/geodesics` (pygeodesic
//! and libigl have the exact way over facets, potpourri3d two approximations). Facets of 2 to 5 mm cut off some
//! hundredths where they bend; the smoothed face does not.

use super::*;
use serde_json::Value;
use std::collections::BTreeMap;

const R: f64 = 150.0;

/// An icosahedron whose triangles were divided into four, five times, and drawn out to a ball.
fn icosphere() -> Made {
    let g = f64::midpoint(1.0, 5_f64.sqrt());
    let mut points: Vec<V> = Vec::new();
    for (a, b) in [(1.0, g), (1.0, -g), (-1.0, g), (-1.0, -g)] {
        points.extend([[a, b, 0.0], [0.0, a, b], [b, 0.0, a]]);
    }
    let far = |p: &V, q: &V| (0..3).map(|k| (p[k] - q[k]).powi(2)).sum::<f64>().sqrt();
    // Its edges are 2 long; three corners that are neighbours of each other are a triangle.
    let near = |a: usize, b: usize| (far(&points[a], &points[b]) - 2.0).abs() < 1e-9;
    let mut triangles: Vec<[usize; 3]> = Vec::new();
    for a in 0..12 {
        for b in a + 1..12 {
            for c in b + 1..12 {
                if near(a, b) && near(b, c) && near(a, c) {
                    let [p, q, r] = [a, b, c].map(|k| points[k]);
                    let out = p[0] * (q[1] * r[2] - q[2] * r[1])
                        + p[1] * (q[2] * r[0] - q[0] * r[2])
                        + p[2] * (q[0] * r[1] - q[1] * r[0]);
                    triangles.push(if out > 0.0 { [a, b, c] } else { [a, c, b] });
                }
            }
        }
    }
    let drawn_out = |p: V| {
        let n = far(&p, &[0.0; 3]);
        p.map(|x| x / n)
    };
    for p in &mut points {
        *p = drawn_out(*p);
    }
    for _ in 0..5 {
        let mut middles: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let mut finer = Vec::new();
        for &[a, b, c] in &triangles {
            let [ab, bc, ca] = [(a, b), (b, c), (c, a)].map(|(i, j)| {
                *middles.entry((i.min(j), i.max(j))).or_insert_with(|| {
                    points.push(drawn_out([0, 1, 2].map(|k| points[i][k] + points[j][k])));
                    points.len() - 1
                })
            });
            finer.extend([[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]);
        }
        triangles = finer;
    }
    Made {
        points: points.into_iter().map(|p| p.map(|x| x * R)).collect(),
        triangles: triangles.into_iter().map(|t| t.map(|k| k as u32)).collect(),
    }
}

/// A quarter of an upright prism of 180 sides.
fn prism() -> Made {
    let (sides, rows, rise) = (45_u32, 60_u32, 300.0);
    let mut made = Made::default();
    for j in 0..=rows {
        for i in 0..=sides {
            let a = std::f64::consts::FRAC_PI_2 * (f64::from(i) / f64::from(sides) - 0.5);
            let z = rise * (f64::from(j) / f64::from(rows) - 0.5);
            made.points.push([R * a.cos(), R * a.sin(), z]);
        }
    }
    for j in 0..rows {
        for i in 0..sides {
            let a = j * (sides + 1) + i;
            let (b, c, d) = (a + 1, a + sides + 1, a + sides + 2);
            made.triangles.extend([[a, b, d], [a, d, c]]);
        }
    }
    made
}

#[test]
fn ways_over_scans_are_the_exact_ways_of_other_libraries() {
    let root = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/reference/geodesics/values.json"
    );
    let all: Value = serde_json::from_slice(&std::fs::read(root).unwrap()).unwrap();
    for (name, made) in [
        ("head", head((120, 100), 0.0)),
        ("icosphere", icosphere()),
        ("prism", prism()),
    ] {
        let told = &all[name];
        let count = |of: &str| told[of].as_u64().unwrap() as usize;
        assert_eq!(
            (count("corners"), count("triangles")),
            (made.points.len(), made.triangles.len()),
            "{name}"
        );
        let marks: Vec<V> = (told["marks"].as_array().unwrap().iter())
            .map(|m| [0, 1, 2].map(|k| m[k].as_f64().unwrap()))
            .collect();
        for mark in &marks {
            let far = |p: &V| (0..3).map(|k| (p[k] - mark[k]).abs()).fold(0.0, f64::max);
            let nearest = made.points.iter().map(far).fold(f64::MAX, f64::min);
            assert!(
                nearest < 1e-5,
                "{name}: a mark that is no corner, {nearest}"
            );
        }
        let scan = read(&made.stl()).unwrap();
        let fitted = fitted(&scan, &marks, Some([1.0, 0.0, 0.0]), None);
        let surface = face(&fitted);
        let uv: Vec<Point2<Face>> = fitted.marks.iter().map(|m| at(m.uv_mm)).collect();
        let pairs = [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)];
        let worst = |library: &str| {
            let off = pairs.iter().enumerate().map(|(k, (i, j))| {
                let own = surface.over_surface(uv[*i], uv[*j], 0).unwrap().mm;
                let said = told["ways"][library][k].as_f64().unwrap();
                (own - said).abs()
            });
            off.fold(0.0, f64::max)
        };
        let exact = worst("pygeodesic").max(worst("libigl"));
        eprintln!(
            "{name}: {exact:.4} mm from the exact ways over facets; those by heat are {:.2} from ours, by marching {:.2}",
            worst("potpourri3d_heat"),
            worst("potpourri3d_march")
        );
        assert!(exact < 0.03, "{name}: {exact}");
    }
}
