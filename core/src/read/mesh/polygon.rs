//! A face of many corners cut into triangles that stay inside it.

type V = [f64; 3];

/// The most corners of one face taken.
pub(super) const MOST_CORNERS: usize = 4096;

/// Corners of the triangles, as places in the list: ears cut one after the other (Meisters 1975,
/// *Polygons have ears*, Amer. Math. Monthly 82:648–651) in the plane that it lies nearest to.
pub(super) fn triangles(corners: &[V]) -> Vec<[usize; 3]> {
    let n = corners.len();
    if n < 3 {
        return Vec::new();
    }
    if n == 3 {
        return vec![[0, 1, 2]];
    }
    // Newell's normal; its greatest part tells which coordinate to drop.
    let mut normal = [0.0; 3];
    for (k, a) in corners.iter().enumerate() {
        let b = corners[(k + 1) % n];
        for (c, sum) in normal.iter_mut().enumerate() {
            let (d, e) = ((c + 1) % 3, (c + 2) % 3);
            *sum += (a[d] - b[d]) * (a[e] + b[e]);
        }
    }
    let drop = (0..3).fold(0, |best, c| {
        if normal[c].abs() > normal[best].abs() {
            c
        } else {
            best
        }
    });
    let turn = if normal[drop] < 0.0 { -1.0 } else { 1.0 };
    let flat: Vec<[f64; 2]> = corners
        .iter()
        .map(|p| [p[(drop + 1) % 3] * turn, p[(drop + 2) % 3]])
        .collect();
    let area = |a: usize, b: usize, c: usize| {
        let (a, b, c) = (flat[a], flat[b], flat[c]);
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let mut left: Vec<usize> = (0..n).collect();
    let mut out = Vec::with_capacity(n - 2);
    while left.len() > 3 {
        let m = left.len();
        let ear = (0..m).find(|&k| {
            let (a, b, c) = (left[(k + m - 1) % m], left[k], left[(k + 1) % m]);
            area(a, b, c) > 0.0
                && left.iter().all(|&p| {
                    p == a
                        || p == b
                        || p == c
                        || area(a, b, p) < 0.0
                        || area(b, c, p) < 0.0
                        || area(c, a, p) < 0.0
                })
        });
        // A face folded over itself has none left: cut anywhere, it is no plane shape anyway.
        let k = ear.unwrap_or(0);
        out.push([left[(k + m - 1) % m], left[k], left[(k + 1) % m]]);
        left.remove(k);
    }
    out.push([left[0], left[1], left[2]]);
    out
}
