//! A patch of a scan laid flat about its middle: the polar map, which on a cap stretches least.

use super::Inputs;
use super::scan::mesh;
use super::timing::{Of, measured};
use samespot_core::frames::{Face, Point2, Vector2};
use samespot_core::read::mesh::bvh::Boxes;
use samespot_core::read::mesh::fit::{Fitted, Wanted, fit};
use samespot_core::read::mesh::{Mesh, Scan, read};
use samespot_core::surface::{Development, ScanFace, Surface};

/// As a file whose corners are doubles and are shared already: nothing is renumbered.
fn ply(mesh: &Mesh) -> Vec<u8> {
    let mut out = format!(
        "ply\nformat binary_little_endian 1.0\nelement vertex {}\nproperty double x\nproperty double y\nproperty double z\nelement face {}\nproperty list uchar int vertex_indices\nend_header\n",
        mesh.points.len(),
        mesh.triangles.len()
    )
    .into_bytes();
    out.extend(mesh.points.iter().flatten().flat_map(|x| x.to_le_bytes()));
    for t in &mesh.triangles {
        out.push(3);
        out.extend(t.iter().flat_map(|k| k.to_le_bytes()));
    }
    out
}

fn fitted(scan: &Scan, marks: &[(String, [f64; 3])]) -> Fitted {
    let boxes = Boxes::over(&scan.mesh);
    let wanted = Wanted {
        marks,
        toward: Some([0.0, 0.0, 1.0]),
        up: [0.0, 1.0, 0.0],
        unit_mm: 1.0,
        smooth_mm: None,
    };
    fit(&scan.mesh, &boxes, &scan.look, &wanted).unwrap()
}

/// Where each corner of the mesh comes to lie, mm; no number at the rim, where the face has no whole cell.
fn laid(fitted: &Fitted, mesh: &Mesh) -> Vec<[f64; 2]> {
    let face = Surface::Scan(ScanFace::new(fitted.patch.clone()).unwrap());
    let places: Vec<Point2<Face>> = mesh
        .points
        .iter()
        .map(|&p| {
            let [u, v, _] = fitted.seen_mm(p);
            Point2::from_mm(u, v)
        })
        .collect();
    let sheet = Development::new(&face, places[0], Vector2::from_mm(0.0, 1.0)).unwrap();
    let flat = sheet.flat_all(&places);
    flat.into_iter()
        .map(|q| q.map_or([f64::NAN; 2], |q| [q.x_mm(), q.y_mm()]))
        .collect()
}

pub(super) fn polar(inputs: &Inputs, size: &str) {
    let scan = read(&ply(&mesh(inputs, size))).unwrap();
    let exact = inputs.numbers(&format!("{size}.uv.f64"));
    let exact = exact.as_chunks::<2>().0;
    // The middle, and three corners most of the way out: at the very rim there are no whole cells.
    let reach = exact.iter().map(|[x, y]| x.hypot(*y)).fold(0.0, f64::max);
    let near = |[x, y]: [f64; 2]| {
        let apart = |k: usize| (exact[k][0] - x * reach).hypot(exact[k][1] - y * reach);
        (0..exact.len())
            .min_by(|&i, &j| apart(i).total_cmp(&apart(j)))
            .unwrap()
    };
    let marks: Vec<(String, [f64; 3])> = [
        0,
        near([0.0, 0.85]),
        near([0.7, -0.45]),
        near([-0.7, -0.45]),
    ]
    .iter()
    .map(|&k| (format!("corner {k}"), scan.mesh.points[k]))
    .collect();
    let of = |way| Of {
        kernel: "log_map",
        way,
        size,
        items: exact.len(),
    };
    let made = fitted(&scan, &marks);
    // How far from the exact map, up to a turn about the middle, and the worst corner.
    let check = |flat: &Vec<[f64; 2]>| {
        let (mut c, mut s) = (0.0, 0.0);
        let there = || flat.iter().zip(exact).filter(|(p, _)| !p[0].is_nan());
        for (p, q) in there() {
            c += p[0] * q[0] + p[1] * q[1];
            s += p[0] * q[1] - p[1] * q[0];
        }
        let turn = s.atan2(c);
        let worst = there().fold(0.0_f64, |worst, (p, q)| {
            let [x, y] = [
                p[0] * turn.cos() - p[1] * turn.sin() - q[0],
                p[0] * turn.sin() + p[1] * turn.cos() - q[1],
            ];
            worst.max(x.hypot(y))
        });
        format!("{} laid, {worst:.5} mm off at worst", there().count())
    };
    measured(&of(", the face known"), || laid(&made, &scan.mesh), check);
    measured(
        &of(", from the mesh"),
        || laid(&fitted(&scan, &marks), &scan.mesh),
        check,
    );
    let flat: Vec<u8> = laid(&made, &scan.mesh)
        .iter()
        .flatten()
        .flat_map(|x| x.to_le_bytes())
        .collect();
    let path = inputs.0.join(format!("{size}.samespot.f64"));
    std::fs::write(path, flat).unwrap();
}
