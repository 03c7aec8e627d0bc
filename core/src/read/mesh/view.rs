//! A scan seen from a side, as a grey picture; and the place of it under a point of the picture.

use super::bvh::{Boxes, OnMesh};
use super::look::{add, cross, dot, sub, times, unit};
use super::{Look, Mesh};

/// The largest picture made, pixels each way.
const MOST_PIXELS: usize = 2000;

/// Where one stands: from far away, so that nothing is nearer or farther.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// To the right in the picture.
    pub right: [f64; 3],
    /// Up in the picture.
    pub up: [f64; 3],
    /// From the scan to the one who looks.
    pub toward: [f64; 3],
    /// What stands in the middle.
    pub centre: [f64; 3],
    /// How much of the scan's unit a pixel is.
    pub per_pixel: f64,
    /// Size of the picture, pixels.
    pub size: [usize; 2],
}

impl View {
    /// From a side: turned about the scan's up, then tilted to look down on it; all of it in the
    /// picture, or `zoom` times nearer about a centre.
    ///
    /// Angles in radians; `up` is one of the six directions of the scan's axes.
    #[must_use]
    pub fn of(
        look: &Look,
        up: [f64; 3],
        (turn, tilt): (f64, f64),
        (zoom, centre): (f64, Option<[f64; 3]>),
        size: [usize; 2],
    ) -> Self {
        let up = unit(up).unwrap_or([0.0, 0.0, 1.0]);
        // Any direction square to up will do to begin with.
        let side = if up[0].abs() < 0.9 {
            [1.0, 0.0, 0.0]
        } else {
            [0.0, 1.0, 0.0]
        };
        let across = unit(sub(side, times(up, dot(side, up)))).unwrap_or([0.0, 1.0, 0.0]);
        let ahead = cross(across, up);
        let (s, c) = (libm::sin(turn), libm::cos(turn));
        let right = add(times(across, c), times(ahead, -s));
        let level = cross(right, up);
        let (s, c) = (libm::sin(tilt), libm::cos(tilt));
        let toward = add(times(level, c), times(up, s));
        let across_box = sub(look.high, look.low);
        let size = size.map(|n| n.clamp(1, MOST_PIXELS));
        #[expect(clippy::cast_precision_loss, reason = "at most 2000")]
        let smaller = size[0].min(size[1]) as f64;
        let whole = libm::sqrt(dot(across_box, across_box)).max(1e-9);
        Self {
            right,
            up: cross(toward, right),
            toward,
            centre: centre.unwrap_or_else(|| times(add(look.low, look.high), 0.5)),
            per_pixel: whole / smaller / zoom.clamp(1.0, 1000.0),
            size,
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "at most 2000")]
    fn middle(&self) -> [f64; 2] {
        [self.size[0] as f64 / 2.0, self.size[1] as f64 / 2.0]
    }

    /// Where a place comes in the picture (right, down, in pixels), and how near it is.
    #[must_use]
    pub fn seen(&self, p: [f64; 3]) -> [f64; 3] {
        let d = sub(p, self.centre);
        let [x, y] = self.middle();
        [
            x + dot(d, self.right) / self.per_pixel,
            y - dot(d, self.up) / self.per_pixel,
            dot(d, self.toward),
        ]
    }

    /// The place of the scan under a point of the picture.
    #[must_use]
    pub fn under(
        &self,
        mesh: &Mesh,
        boxes: &Boxes,
        look: &Look,
        [x, y]: [f64; 2],
    ) -> Option<OnMesh> {
        let [cx, cy] = self.middle();
        let box_across = sub(look.high, look.low);
        let far = 2.0 * libm::sqrt(dot(box_across, box_across))
            + libm::sqrt(dot(self.centre, self.centre));
        let from = add(
            add(self.centre, times(self.toward, far)),
            add(
                times(self.right, (x - cx) * self.per_pixel),
                times(self.up, (cy - y) * self.per_pixel),
            ),
        );
        boxes.first_met(mesh, from, times(self.toward, -1.0))
    }

    /// Whether nothing stands before a place.
    #[must_use]
    pub fn in_sight(&self, mesh: &Mesh, boxes: &Boxes, look: &Look, at: [f64; 3]) -> bool {
        let [x, y, near] = self.seen(at);
        self.under(mesh, boxes, look, [x, y])
            .is_some_and(|met| self.seen(met.at)[2] <= near + 2.0 * self.per_pixel)
    }

    /// The picture as PNG: white where nothing is, else the lighter the more a triangle faces the
    /// light, which comes from above on the left.
    #[must_use]
    pub fn picture(&self, mesh: &Mesh) -> Vec<u8> {
        let [w, h] = self.size;
        let mut near = vec![f32::NEG_INFINITY; w * h];
        let mut grey = vec![255_u8; w * h];
        let light = unit(add(
            self.toward,
            add(times(self.right, -0.4), times(self.up, 0.5)),
        ))
        .unwrap_or(self.toward);
        let seen: Vec<[f64; 3]> = mesh.points.iter().map(|p| self.seen(*p)).collect();
        for t in &mesh.triangles {
            let [a, b, c] = t.map(|k| mesh.points[k as usize]);
            let Some(n) = unit(cross(sub(b, a), sub(c, a))) else {
                continue;
            };
            let n = if dot(n, self.toward) < 0.0 {
                times(n, -1.0)
            } else {
                n
            };
            let lit = 60.0 + 180.0 * dot(n, light).max(0.0);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "60 to 240"
            )]
            let shade = lit as u8;
            let [a, b, c] = t.map(|k| seen[k as usize]);
            fill([a, b, c], [w, h], |at, depth| {
                if depth > near[at] {
                    near[at] = depth;
                    grey[at] = shade;
                }
            });
        }
        png([w, h], &grey)
    }
}

/// Calls for each pixel whose middle lies in a triangle, with its depth.
fn fill([a, b, c]: [[f64; 3]; 3], [w, h]: [usize; 2], mut dot: impl FnMut(usize, f32)) {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "kept to the picture; NaN becomes 0"
    )]
    let span = |k: usize, most: usize| {
        let low = a[k].min(b[k]).min(c[k]);
        let high = a[k].max(b[k]).max(c[k]);
        let first = libm::ceil(low - 0.5).max(0.0) as usize;
        let end = (libm::floor(high - 0.5) + 1.0).clamp(0.0, most as f64) as usize;
        first..end
    };
    let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    if area.abs() < 1e-12 {
        return;
    }
    let across = span(0, w);
    for row in span(1, h) {
        for column in across.clone() {
            #[expect(clippy::cast_precision_loss, reason = "at most 2000")]
            let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
            let u = ((b[0] - x) * (c[1] - y) - (b[1] - y) * (c[0] - x)) / area;
            let v = ((c[0] - x) * (a[1] - y) - (c[1] - y) * (a[0] - x)) / area;
            let t = 1.0 - u - v;
            if u >= -1e-9 && v >= -1e-9 && t >= -1e-9 {
                #[expect(clippy::cast_possible_truncation, reason = "a depth to draw by")]
                let depth = (u * a[2] + v * b[2] + t * c[2]) as f32;
                dot(row * w + column, depth);
            }
        }
    }
}

/// A grey picture as PNG (ISO/IEC 15948).
fn png([w, h]: [usize; 2], grey: &[u8]) -> Vec<u8> {
    let whole = |n: usize| u32::try_from(n).unwrap_or(u32::MAX).to_be_bytes();
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut chunk = |name: &[u8; 4], data: &[u8]| {
        out.extend(whole(data.len()));
        let start = out.len();
        out.extend(name);
        out.extend(data);
        let sum = crc(&out[start..]);
        out.extend(sum.to_be_bytes());
    };
    let mut head = Vec::with_capacity(13);
    head.extend(whole(w));
    head.extend(whole(h));
    head.extend([8, 0, 0, 0, 0]);
    chunk(b"IHDR", &head);
    let mut rows = Vec::with_capacity((w + 1) * h);
    for row in grey.chunks_exact(w) {
        rows.push(0);
        rows.extend(row);
    }
    chunk(
        b"IDAT",
        &miniz_oxide::deflate::compress_to_vec_zlib(&rows, 4),
    );
    chunk(b"IEND", &[]);
    out
}

fn crc(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for b in bytes {
        sum ^= u32::from(*b);
        for _ in 0..8 {
            sum = (sum >> 1) ^ (0xEDB8_8320 & (sum & 1).wrapping_neg());
        }
    }
    !sum
}
