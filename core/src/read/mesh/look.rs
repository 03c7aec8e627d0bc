//! What is to be known of a mesh: how large, whole or open, in how many pieces, which way round.

use super::Mesh;

/// What was found of a mesh, in its own unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// Least corner of the box around it.
    pub low: [f64; 3],
    /// Greatest corner.
    pub high: [f64; 3],
    /// Pieces that do not hang together.
    pub pieces: usize,
    /// Edges with a triangle on one side only.
    pub open_edges: usize,
    /// Rings that these make.
    pub holes: usize,
    /// Edges with more than two triangles.
    pub crowded_edges: usize,
    /// Edges whose two triangles are wound against each other.
    pub turned_edges: usize,
    /// Area.
    pub area: f64,
    /// Volume, less than nothing where it is inside out; `None` where it is open or not one surface.
    pub volume: Option<f64>,
}

/// The triangles that meet in each edge, by the edge's lower end.
pub(super) struct Edges {
    /// Where the edges of each point begin, and where the last end.
    starts: Vec<u32>,
    /// The higher end; the triangle, and whether it runs from the lower end to the higher. Sorted
    /// among those of the same lower end.
    far: Vec<(u32, u32)>,
}

impl Edges {
    pub(super) fn of(mesh: &Mesh) -> Self {
        let each = |t: &[u32; 3]| [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])];
        // Counted one further on, so that each place has moved to its own start once it is filled.
        let mut starts = vec![0_u32; mesh.points.len() + 2];
        for t in &mesh.triangles {
            for (a, b) in each(t) {
                starts[a.min(b) as usize + 2] += 1;
            }
        }
        let mut sum = 0;
        for start in &mut starts {
            sum += *start;
            *start = sum;
        }
        let mut far = vec![(0, 0); 3 * mesh.triangles.len()];
        for (t, k) in mesh.triangles.iter().zip(0_u32..) {
            for (a, b) in each(t) {
                let next = &mut starts[a.min(b) as usize + 1];
                far[*next as usize] = (a.max(b), (k << 1) | u32::from(a < b));
                *next += 1;
            }
        }
        starts.pop();
        for ends in starts.windows(2) {
            far[ends[0] as usize..ends[1] as usize].sort_unstable();
        }
        Self { starts, far }
    }
    /// Those with a lower end.
    fn from(&self, low: usize) -> &[(u32, u32)] {
        let ends = self.starts.get(low).zip(self.starts.get(low + 1));
        ends.and_then(|(&a, &b)| self.far.get(a as usize..b as usize))
            .unwrap_or_default()
    }
    /// The triangles that meet in an edge.
    pub(super) fn across(&self, a: u32, b: u32) -> impl Iterator<Item = u32> + '_ {
        let high = a.max(b);
        let all = self.from(a.min(b) as usize).iter();
        all.filter(move |e| e.0 == high).map(|e| e.1 >> 1)
    }
}

/// Groups joined one by one (Tarjan 1975).
struct Groups(Vec<u32>);

impl Groups {
    fn new(count: usize) -> Self {
        Self((0_u32..).take(count).collect())
    }
    fn of(&mut self, mut k: u32) -> u32 {
        while self.0[k as usize] != k {
            let up = self.0[k as usize];
            self.0[k as usize] = self.0[up as usize];
            k = self.0[k as usize];
        }
        k
    }
    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.of(a), self.of(b));
        self.0[a.max(b) as usize] = a.min(b);
    }
}

pub(super) fn look(mesh: &Mesh) -> Look {
    let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    let (mut area, mut volume) = (0.0, 0.0);
    let origin = mesh.points.first().copied().unwrap_or_default();
    let mut used = vec![false; mesh.points.len()];
    let mut groups = Groups::new(mesh.points.len());
    for t in &mesh.triangles {
        let [a, b, c] = t.map(|k| mesh.points[k as usize]);
        for p in [a, b, c] {
            for k in 0..3 {
                low[k] = low[k].min(p[k]);
                high[k] = high[k].max(p[k]);
            }
        }
        let about = |p: [f64; 3]| [p[0] - origin[0], p[1] - origin[1], p[2] - origin[2]];
        let (a, b, c) = (about(a), about(b), about(c));
        let n = cross(sub(b, a), sub(c, a));
        area += 0.5 * libm::sqrt(dot(n, n));
        volume += dot(a, cross(b, c)) / 6.0;
        groups.join(t[0], t[1]);
        groups.join(t[1], t[2]);
        for k in t {
            used[*k as usize] = true;
        }
    }
    let pieces = (0_u32..)
        .take(used.len())
        .filter(|&k| used[k as usize] && groups.of(k) == k)
        .count();
    let edges = Edges::of(mesh);
    let (mut open, mut crowded, mut turned) = (Vec::new(), 0, 0);
    for (low, k) in (0_u32..).zip(0..mesh.points.len()) {
        for same in edges.from(k).chunk_by(|a, b| a.0 == b.0) {
            match same {
                [one] => open.push((low, one.0)),
                [a, b] => turned += usize::from((a.1 & 1) == (b.1 & 1)),
                _ => crowded += 1,
            }
        }
    }
    let mut rings = Groups::new(mesh.points.len());
    let mut on_ring = vec![false; mesh.points.len()];
    for &(a, b) in &open {
        rings.join(a, b);
        on_ring[a as usize] = true;
        on_ring[b as usize] = true;
    }
    let holes = (0_u32..)
        .take(on_ring.len())
        .filter(|&k| on_ring[k as usize] && rings.of(k) == k)
        .count();
    let closed = open.is_empty() && crowded == 0 && turned == 0;
    Look {
        low,
        high,
        pieces,
        open_edges: open.len(),
        holes,
        crowded_edges: crowded,
        turned_edges: turned,
        area,
        volume: closed.then_some(volume),
    }
}

impl Look {
    /// What is to be said of it.
    pub(super) fn words(&self) -> Vec<String> {
        let mut all = Vec::new();
        let some = |n: usize, one: &str, many: &str| {
            if n == 1 {
                format!("1 {one}")
            } else {
                format!("{n} {many}")
            }
        };
        if self.pieces > 1 {
            all.push(format!(
                "it is in {} pieces that do not hang together: only the one that the marks are on is used",
                self.pieces
            ));
        }
        if self.holes > 0 {
            all.push(format!(
                "it is open: {} with {}. A stencil can't lie over a hole",
                some(self.holes, "hole or edge", "holes or edges"),
                some(self.open_edges, "open side", "open sides")
            ));
        }
        if self.crowded_edges > 0 {
            all.push(format!(
                "{} where more than two triangles meet",
                some(self.crowded_edges, "edge", "edges")
            ));
        }
        if self.turned_edges > 0 {
            all.push(format!(
                "neighbouring triangles face opposite ways at {}: which side is outside is taken from the side that the marks are picked from",
                some(self.turned_edges, "edge", "edges")
            ));
        }
        if self.volume.is_some_and(|v| v < 0.0) {
            all.push(
                "it is inside out: which side is outside is taken from the side that the marks are picked from"
                    .into(),
            );
        }
        all
    }
}

pub(super) fn sub(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
pub(super) fn add(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
pub(super) fn times(a: [f64; 3], k: f64) -> [f64; 3] {
    a.map(|x| x * k)
}
pub(super) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
pub(super) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}
pub(super) fn unit(a: [f64; 3]) -> Option<[f64; 3]> {
    let length = libm::sqrt(dot(a, a));
    (length > 1e-12 && length.is_finite()).then(|| times(a, 1.0 / length))
}
