//! Scans read and welded; boxes over them and the places nearest to others.

use super::Inputs;
use super::timing::{Of, measured, measured_to, now};
use samespot_core::read::mesh::bvh::Boxes;
use samespot_core::read::mesh::{Mesh, Reached, read, read_telling};

pub(super) fn mesh(inputs: &Inputs, name: &str) -> Mesh {
    Mesh {
        points: inputs.places(&format!("{name}.v.f64")),
        triangles: inputs
            .whole(&format!("{name}.f.u32"))
            .as_chunks::<3>()
            .0
            .to_vec(),
    }
}

pub(super) fn stl(inputs: &Inputs, size: &str) {
    let bytes = inputs.bytes(&format!("{size}.stl"));
    let items = (bytes.len() - 84) / 50;
    let of = |way| Of {
        kernel: "stl_weld",
        way,
        size,
        items,
    };
    // Peers stop where corners are joined: what follows, none of them does.
    let welded = || {
        let (mut count, mut end) = ((0, 0), now());
        read_telling(&bytes, &mut |reached| match reached {
            Reached::Opened { .. } => {}
            Reached::Triangles { count: n } => count.1 = n,
            Reached::Joined { corners } => {
                count.0 = corners;
                end = now();
            }
        })
        .unwrap();
        (count, end)
    };
    measured_to(&of(""), welded, |(v, f)| format!("{v}/{f}"));
    let counts = |scan: &samespot_core::read::mesh::Scan| {
        format!("{}/{}", scan.mesh.points.len(), scan.mesh.triangles.len())
    };
    measured(
        &of(", with what is open, doubled and turned"),
        || read(&bytes).unwrap(),
        counts,
    );
}

/// A scan larger than is taken, and what is said of it.
pub(super) fn refused(inputs: &Inputs, size: &str) {
    let bytes = inputs.bytes(&format!("{size}.stl"));
    measured(
        &Of {
            kernel: "stl_refused",
            way: "",
            size,
            items: 1,
        },
        || read(&bytes).map(|s| s.mesh.triangles.len()),
        |said| match said {
            Ok(n) => format!("{n} triangles"),
            Err(why) => why.to_string(),
        },
    );
}

pub(super) fn boxes(inputs: &Inputs, size: &str) {
    let mesh = mesh(inputs, size);
    let of = |kernel, items| Of {
        kernel,
        way: "",
        size,
        items,
    };
    measured(
        &of("bvh_build", mesh.triangles.len()),
        || Boxes::over(&mesh),
        |_| String::new(),
    );
    let boxes = Boxes::over(&mesh);
    for (kernel, name) in [("closest_near", "qnear_100k"), ("closest_far", "q_100k")] {
        let asked = inputs.places(&format!("{name}.f64"));
        measured(
            &of(kernel, asked.len()),
            || {
                let all = boxes.nearest_all(&mesh, &asked);
                let sum: f64 = all.iter().map(|n| n.unwrap().distance).sum();
                sum / asked.len() as f64
            },
            |mean| format!("{mean:.6}"),
        );
    }
    let rays = inputs.numbers("rays_100k.f64");
    let rays = rays.as_chunks::<6>().0;
    measured(
        &of("ray_random", rays.len()),
        || {
            let (mut count, mut sum) = (0, 0.0);
            for &[a, b, c, x, y, z] in rays {
                if let Some(met) = boxes.first_met(&mesh, [a, b, c], [x, y, z]) {
                    count += 1;
                    sum += met.distance;
                }
            }
            (count, sum / f64::from(count.max(1)))
        },
        |(count, mean)| format!("{count} {mean:.4}"),
    );
}
