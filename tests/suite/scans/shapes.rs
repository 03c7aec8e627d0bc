//! Patches that no paper lies on: a fold, a handle, a centre off the mesh. None may come out as a smooth
//! face that is not there.

use super::*;
use samespot_core::read::mesh::fit::FitError;

/// A face a little round, 200 mm across, looking along +x, with something done to each place.
fn plate(change: impl Fn(f64, f64) -> V) -> Made {
    patch((-100.0, 100.0), (-100.0, 100.0), (160, 160), |u, v| {
        let [x, y, z] = change(u, v);
        let drop = (u * u + v * v) / 800.0;
        [x - drop, y, z]
    })
}

const CORNERS: [[f64; 2]; 4] = [[-70.0, -70.0], [70.0, -70.0], [70.0, 70.0], [-70.0, 70.0]];

fn at_corners(made: &Made) -> Vec<V> {
    let near = |c: &[f64; 2]| {
        let far = |p: &&V| (p[1] - c[0]).hypot(p[2] - c[1]);
        let nearest = |a: &&V, b: &&V| far(a).total_cmp(&far(b));
        *made.points.iter().min_by(nearest).unwrap()
    };
    CORNERS.iter().map(near).collect()
}

fn made(made: &Made) -> (Fitted, Surface) {
    let scan = read(&made.stl()).unwrap();
    let fitted = fitted(&scan, &at_corners(made), Some([1.0, 0.0, 0.0]), None);
    let surface = face(&fitted);
    (fitted, surface)
}

fn over(surface: &Surface, a: [f64; 2], b: [f64; 2]) -> Result<f64, SurfaceError> {
    surface.over_surface(at(a), at(b), 0).map(|d| d.mm)
}

#[test]
fn a_fold_is_no_face() {
    // A wave in the middle that breaks: its crest hangs 25 mm over what is below it, both hang together
    // round its ends.
    let bump = |u: f64, v: f64| (-(u / 25.0).powi(4) - (v / 22.0).powi(2)).exp();
    let wave = plate(|u, v| [30.0 * bump(u, v), u, v - 60.0 * bump(u, v)]);
    let (fitted, surface) = made(&wave);
    let uv: Vec<[f64; 2]> = fitted.marks.iter().map(|m| m.uv_mm).collect();
    // Past it a tape runs as over the plain face; through it none does.
    let past = over(&surface, uv[0], uv[3]).unwrap();
    assert!((past - 140.6).abs() < 1.5, "{past}");
    assert_eq!(over(&surface, uv[0], uv[2]), Err(SurfaceError::OffTheScan));
    // Nowhere is it between the two sheets.
    let Surface::Scan(scan) = &surface else {
        unreachable!()
    };
    let middle = [0, 1].map(|k| uv.iter().map(|m| m[k]).sum::<f64>() / 4.0);
    // The frame is all but square on: what it is shifted by is told by the marks.
    let places: Vec<V> = uv
        .iter()
        .map(|m| scan.patch().place_mm(m[0], m[1]))
        .collect();
    let base: V = [0, 1, 2].map(|k| {
        let both = places.iter().zip(at_corners(&wave));
        both.map(|(p, c)| p[k] - c[k]).sum::<f64>() / 4.0
    });
    for j in -20..=20 {
        for i in -20..=20 {
            let (u, v) = (
                middle[0] + f64::from(i) * 3.0,
                middle[1] + f64::from(j) * 3.0,
            );
            if !scan.patch().covers(u, v) {
                continue;
            }
            let place = scan.patch().place_mm(u, v);
            // A breaking wave is so steep that the nearest of it counts, not what stands straight over it.
            let at = [0, 1, 2].map(|k| place[k] - base[k]);
            let far = |p: &V| (0..3).map(|k| (p[k] - at[k]).powi(2)).sum::<f64>().sqrt();
            let off = wave.points.iter().map(far).fold(f64::MAX, f64::min);
            assert!(off < 4.0, "{off} mm from anything at {u:.0}, {v:.0}");
        }
    }
}

#[test]
fn a_handle_is_no_face_and_what_is_round_it_stays() {
    let mut with = plate(|u, v| [0.0, u, v]);
    // A bow from (−30, 0) to (30, 0), 12 mm thick, standing 40 mm out at its top; open at its feet, where the
    // plate is cut away.
    let bow = patch(
        (0.0, std::f64::consts::PI),
        (0.0, std::f64::consts::TAU),
        (60, 24),
        |a, t| {
            let (out, r) = ([a.sin(), -a.cos()], 6.0);
            let mid = [40.0 * a.sin(), -30.0 * a.cos()];
            [
                mid[0] + r * t.cos() * out[0],
                mid[1] + r * t.cos() * out[1],
                -r * t.sin(),
            ]
        },
    );
    let inside = |k: &u32| {
        let p = with.points[*k as usize];
        (p[1].abs() - 30.0).hypot(p[2]) < 7.0
    };
    let plate_triangles: Vec<[u32; 3]> = (with.triangles.iter())
        .filter(|t| !t.iter().any(inside))
        .copied()
        .collect();
    let n = with.points.len() as u32;
    with.triangles = plate_triangles;
    with.points.extend(&bow.points);
    with.triangles
        .extend(bow.triangles.iter().map(|t| t.map(|k| k + n)));
    let (fitted, surface) = made(&with);
    let uv: Vec<[f64; 2]> = fitted.marks.iter().map(|m| m.uv_mm).collect();
    let middle = [0, 1].map(|k| uv.iter().map(|m| m[k]).sum::<f64>() / 4.0);
    let place = |u: f64, v: f64| [middle[0] + u, middle[1] + v];
    // Through its feet no tape runs; beside it one does, as if it were not there.
    assert_eq!(
        over(&surface, place(-60.0, 0.0), place(60.0, 0.0)),
        Err(SurfaceError::OffTheScan)
    );
    let beside = over(&surface, place(-60.0, 40.0), place(60.0, 40.0)).unwrap();
    let plain = over(
        &made(&plate(|u, v| [0.0, u, v])).1,
        place(-60.0, 40.0),
        place(60.0, 40.0),
    );
    assert!((beside - plain.unwrap()).abs() < 0.1, "{beside}");
}

#[test]
fn a_centre_off_the_mesh_is_no_place_for_a_template() {
    let (fitted, surface) = made(&plate(|u, v| [0.0, u, v]));
    let uv = fitted.marks[0].uv_mm;
    let off = at([uv[0] - 500.0, uv[1]]);
    let up = Vector2::from_mm(0.0, 1.0);
    for t in [0.0, 0.1, 2.0] {
        let why = Development::with_thickness(&surface, off, up, Length::from_mm(t)).unwrap_err();
        assert_eq!(why, SurfaceError::OffTheScan);
    }
    assert!(why_words().contains("pick its marks nearer"));
}

fn why_words() -> String {
    SurfaceError::OffTheScan.to_string()
}

#[test]
fn a_mark_on_the_far_side_of_a_fold_is_refused_by_name() {
    let made = plate(|u, v| [0.0, u, v]);
    let scan = read(&made.stl()).unwrap();
    let boxes = Boxes::over(&scan.mesh);
    let mut marks = at_corners(&made);
    marks[2][0] -= 30.0;
    let named: Vec<(String, V)> = ["A", "B", "C", "D"]
        .iter()
        .zip(&marks)
        .map(|(n, m)| ((*n).to_owned(), *m))
        .collect();
    let why = fit(
        &scan.mesh,
        &boxes,
        &scan.look,
        &Wanted {
            marks: &named,
            toward: None,
            up: [0.0, 0.0, 1.0],
            unit_mm: 1.0,
            smooth_mm: None,
        },
    )
    .unwrap_err();
    assert!(
        matches!(&why, FitError::OffTheScan { mark, .. } if mark == "C"),
        "{why}"
    );
}
