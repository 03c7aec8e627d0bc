//! Invented surfaces as triangles, and as the files that scanners write.

#![allow(
    clippy::cast_possible_truncation,
    reason = "small meshes, in the single precision of their files"
)]

/// Points and triangles.
#[derive(Debug, Clone, Default)]
pub struct Made {
    /// Corners.
    pub points: Vec<[f64; 3]>,
    /// Triangles, anticlockwise from outside.
    pub triangles: Vec<[u32; 3]>,
}

/// A rectangle of parameters carried onto a surface, rows staggered so that edges run every way.
/// `at` must turn (across, up) anticlockwise as seen from outside.
pub fn patch(
    across: (f64, f64),
    up: (f64, f64),
    cells: (u32, u32),
    mut at: impl FnMut(f64, f64) -> [f64; 3],
) -> Made {
    let (n, m) = cells;
    let mut made = Made::default();
    for j in 0..=m {
        for i in 0..=n {
            let lean = if j % 2 == 1 && i > 0 && i < n {
                0.5
            } else {
                0.0
            };
            let s = (f64::from(i) + lean) / f64::from(n);
            let t = f64::from(j) / f64::from(m);
            made.points.push(at(
                across.0 + (across.1 - across.0) * s,
                up.0 + (up.1 - up.0) * t,
            ));
        }
    }
    for j in 0..m {
        for i in 0..n {
            let a = j * (n + 1) + i;
            let (b, c, d) = (a + 1, a + n + 1, a + n + 2);
            if j % 2 == 1 {
                made.triangles.extend([[a, b, c], [b, d, c]]);
            } else {
                made.triangles.extend([[a, b, d], [a, d, c]]);
            }
        }
    }
    made
}

/// The cube of design/08: corner at the origin, 12 triangles outward.
pub fn cube(edge: f64) -> Made {
    let points = (0..8_u32)
        .map(|k| [k & 1, (k >> 1) & 1, k >> 2].map(|b| f64::from(b) * edge))
        .collect();
    let quads: [[u32; 4]; 6] = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    let triangles = quads
        .iter()
        .flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]])
        .collect();
    Made { points, triangles }
}

/// A repeatable number between −1 and 1 (Marsaglia 2003, *Xorshift RNGs*).
pub fn shaken(state: &mut u64) -> f64 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    (*state >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}

/// The head of an invented bird, in mm: balls blended smoothly, as a patch that looks along +x, with
/// a scanner's roughness. It is rounder across than up, and has a brow.
pub fn head(cells: (u32, u32), rough_mm: f64) -> Made {
    let mut seed = 0x5EED_1234_u64;
    patch((-1.15, 1.15), (-1.0, 1.0), cells, |a, b| {
        let out = [b.cos() * a.cos(), b.cos() * a.sin(), b.sin()];
        let brow = 6.0 * (-((a - 0.35).powi(2) + (b - 0.55).powi(2)) / 0.18).exp();
        let r = 150.0 + 12.0 * b.sin() - 10.0 * a.sin().powi(2) + brow;
        let r = r + rough_mm * shaken(&mut seed);
        out.map(|x| x * r)
    })
}

impl Made {
    fn corners(&self, t: &[u32; 3]) -> [[f64; 3]; 3] {
        t.map(|k| self.points[k as usize])
    }
    /// As binary STL.
    pub fn stl(&self) -> Vec<u8> {
        let mut out = vec![b' '; 80];
        out.extend((self.triangles.len() as u32).to_le_bytes());
        for t in &self.triangles {
            out.extend([0; 12]);
            for p in self.corners(t) {
                for x in p {
                    out.extend((x as f32).to_le_bytes());
                }
            }
            out.extend([0; 2]);
        }
        out
    }
    /// As STL in text.
    pub fn stl_text(&self) -> String {
        let mut out = String::from("solid invented\n");
        for t in &self.triangles {
            out += "facet normal 0 0 0\n outer loop\n";
            for [x, y, z] in self.corners(t) {
                out += &format!("  vertex {x:?} {y:?} {z:?}\n");
            }
            out += " endloop\nendfacet\n";
        }
        out + "endsolid invented\n"
    }
    /// As OBJ.
    pub fn obj(&self) -> String {
        let mut out = String::new();
        for [x, y, z] in &self.points {
            out += &format!("v {x:?} {y:?} {z:?}\n");
        }
        for [a, b, c] in &self.triangles {
            out += &format!("f {} {} {}\n", a + 1, b + 1, c + 1);
        }
        out
    }
    /// As PLY: `ascii`, `binary_little_endian` or `binary_big_endian`.
    pub fn ply(&self, format: &str) -> Vec<u8> {
        let mut out = format!(
            "ply\nformat {format} 1.0\ncomment invented\nelement vertex {}\nproperty double x\n\
             property double y\nproperty double z\nproperty uchar grey\nelement face {}\n\
             property list uchar int vertex_indices\nend_header\n",
            self.points.len(),
            self.triangles.len()
        )
        .into_bytes();
        let high = format.ends_with("big_endian");
        if format == "ascii" {
            for [x, y, z] in &self.points {
                out.extend(format!("{x:?} {y:?} {z:?} 10\n").bytes());
            }
            for [a, b, c] in &self.triangles {
                out.extend(format!("3 {a} {b} {c}\n").bytes());
            }
            return out;
        }
        for p in &self.points {
            for x in p {
                out.extend(if high {
                    x.to_be_bytes()
                } else {
                    x.to_le_bytes()
                });
            }
            out.push(10);
        }
        for t in &self.triangles {
            out.push(3);
            for k in t {
                out.extend(if high {
                    k.to_be_bytes()
                } else {
                    k.to_le_bytes()
                });
            }
        }
        out
    }
    /// The model of a 3MF package.
    pub fn model(&self) -> String {
        let mut out = String::from(
            "<?xml version=\"1.0\"?><model unit=\"millimeter\" \
             xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources>\
             <object id=\"1\" type=\"model\"><mesh><vertices>",
        );
        for [x, y, z] in &self.points {
            out += &format!("<vertex x=\"{x:?}\" y=\"{y:?}\" z=\"{z:?}\"/>");
        }
        out += "</vertices><triangles>";
        for [a, b, c] in &self.triangles {
            out += &format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
        }
        out + "</triangles></mesh></object></resources><build><item objectid=\"1\"/></build></model>"
    }
}
