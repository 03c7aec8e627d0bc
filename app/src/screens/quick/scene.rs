//! From a picture in the template's plane to places on the screen.

use samespot_core::answer::LivePicture;

/// A mark on the screen.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mark {
    pub(super) letter: String,
    pub(super) at: [f64; 2],
    /// Where its letter stands, away from the middle.
    pub(super) letter_at: [f64; 2],
}

/// A straight line on the screen with what stands beside it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Dimension {
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
    pub(super) words_at: [f64; 2],
    /// How its words are turned, degrees.
    pub(super) turned: f64,
    pub(super) words: String,
}

/// Everything of a picture, in screen units, y down.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Scene {
    /// The outline as one path.
    pub(super) outline: String,
    /// The centre of the shape.
    pub(super) spot: [f64; 2],
    /// Half of the shape across and up, for its centre lines.
    pub(super) half: [f64; 2],
    pub(super) marks: Vec<Mark>,
    /// Darts to cut out, as one path from edge to tip to edge, and the tips for their holes.
    pub(super) darts: String,
    pub(super) tips: Vec<[f64; 2]>,
    /// Where the drawing has the marks, where that shows.
    pub(super) as_drawn: Vec<[f64; 2]>,
    /// Ellipses in which each mark could be: centre, half axes, turn in degrees.
    pub(super) could_be: Vec<([f64; 2], [f64; 2], f64)>,
    /// By how much they are drawn larger than they are.
    pub(super) magnified: f64,
    pub(super) dimensions: Vec<Dimension>,
    /// A bar: its length on the screen, and what it stands for.
    pub(super) bar: Option<(f64, String)>,
}

/// What is written beside the lines of the picture.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Words {
    pub(super) a_to_b: String,
    pub(super) a_to_centre: String,
    pub(super) b_to_centre: String,
}

/// The room for a picture, in screen units, and what stays free around it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) margin: f64,
}

#[derive(Debug, Clone, Copy)]
struct Bounds {
    least: [f64; 2],
    most: [f64; 2],
}

impl Bounds {
    fn of(points: impl Iterator<Item = [f64; 2]>) -> Option<Self> {
        let mut bounds: Option<Self> = None;
        for p in points.filter(|p| p.iter().all(|c| c.is_finite())) {
            let b = bounds.get_or_insert(Self { least: p, most: p });
            b.least = [b.least[0].min(p[0]), b.least[1].min(p[1])];
            b.most = [b.most[0].max(p[0]), b.most[1].max(p[1])];
        }
        bounds
    }
    fn middle(&self) -> [f64; 2] {
        [0, 1].map(|k| (self.least[k] + self.most[k]) / 2.0)
    }
    fn size(&self) -> [f64; 2] {
        [0, 1].map(|k| self.most[k] - self.least[k])
    }
}

/// From mm in the template's plane to the screen.
#[derive(Debug, Clone, Copy)]
struct View {
    px_per_mm: f64,
    middle: [f64; 2],
    centre: [f64; 2],
}

impl View {
    fn fitting(bounds: &Bounds, room: Room) -> Self {
        let size = bounds.size();
        let free = [
            room.width - 2.0 * room.margin,
            room.height - 2.0 * room.margin,
        ];
        let scale = [0, 1].map(|k| {
            if size[k] > 1e-9 {
                free[k] / size[k]
            } else {
                f64::INFINITY
            }
        });
        let px_per_mm = scale[0].min(scale[1]);
        Self {
            px_per_mm: if px_per_mm.is_finite() {
                px_per_mm
            } else {
                1.0
            },
            middle: bounds.middle(),
            centre: [room.width / 2.0, room.height / 2.0],
        }
    }
    fn at(&self, p: [f64; 2]) -> [f64; 2] {
        [
            self.centre[0] + (p[0] - self.middle[0]) * self.px_per_mm,
            self.centre[1] - (p[1] - self.middle[1]) * self.px_per_mm,
        ]
    }
}

fn path(runs: &[Vec<[f64; 2]>], view: &View) -> String {
    let mut d = String::new();
    for run in runs {
        for (n, p) in run.iter().enumerate() {
            let [x, y] = view.at(*p);
            d.push_str(&format!("{}{x:.1} {y:.1}", if n == 0 { 'M' } else { 'L' }));
        }
        if !run.is_empty() {
            d.push('Z');
        }
    }
    d
}

/// Ellipses smaller than this on the screen are drawn larger, by a round number that is written
/// beside them; screen units.
const ELLIPSE_SHOWN: f64 = 18.0;

fn magnification(largest: f64) -> f64 {
    if largest <= 0.0 {
        return 1.0;
    }
    let wanted = ELLIPSE_SHOWN / largest;
    [1.0, 2.0, 5.0, 10.0, 20.0, 50.0]
        .into_iter()
        .rev()
        .find(|m| *m <= wanted)
        .unwrap_or(1.0)
}

/// Lays a picture out in a room. Without real marks only the shape is shown.
pub(super) fn scene(live: &LivePicture, words: &Words, room: Room, marks: bool) -> Scene {
    let shape = live.outline.iter().flatten().copied();
    let crosses = live.crosses.iter().map(|c| c.1).filter(|_| marks);
    let Some(bounds) = Bounds::of(shape.clone().chain(crosses)) else {
        return Scene::default();
    };
    let view = View::fitting(&bounds, room);
    let own = Bounds::of(shape);
    let half = own.map_or([0.0; 2], |b| b.size().map(|s| s * view.px_per_mm / 2.0));
    let spot = view.at([0.0, 0.0]);
    let mut scene = Scene {
        outline: path(&live.outline, &view),
        spot,
        half,
        bar: bar(&view, room),
        magnified: 1.0,
        ..Scene::default()
    };
    if !marks {
        return scene;
    }
    let darts: Vec<[[f64; 2]; 3]> = live
        .darts
        .iter()
        .map(|dart| dart.map(|p| view.at(p)))
        .collect();
    for [[tx, ty], [ax, ay], [bx, by]] in &darts {
        scene
            .darts
            .push_str(&format!("M{ax:.1} {ay:.1}L{tx:.1} {ty:.1}L{bx:.1} {by:.1}"));
        scene.tips.push([*tx, *ty]);
    }
    let middle = view.centre;
    scene.marks = live
        .crosses
        .iter()
        .map(|(l, p)| mark(l, view.at(*p), middle))
        .collect();
    // Less than a line's width beside the cross would only blur it.
    scene.as_drawn = live
        .as_drawn
        .iter()
        .filter(|(l, p)| {
            live.crosses
                .iter()
                .any(|(m, q)| m == l && distance(view.at(*p), view.at(*q)) > 3.0)
        })
        .map(|(_, p)| view.at(*p))
        .collect();
    let largest = live
        .could_be
        .iter()
        .map(|(_, _, e)| e[0].max(e[1]))
        .fold(0.0, f64::max);
    scene.magnified = magnification(largest * view.px_per_mm);
    scene.could_be = live
        .could_be
        .iter()
        .map(|(_, at, e)| {
            let k = view.px_per_mm * scene.magnified;
            (view.at(*at), [e[0] * k, e[1] * k], -e[2].to_degrees())
        })
        .collect();
    if let [a, b, ..] = scene.marks.as_slice() {
        let (a, b) = (a.at, b.at);
        scene.dimensions = vec![
            dimension(a, b, words.a_to_b.clone(), spot).clear_of(&darts),
            dimension(a, spot, words.a_to_centre.clone(), b),
            dimension(b, spot, words.b_to_centre.clone(), a),
        ];
    }
    scene
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn mark(letter: &str, at: [f64; 2], middle: [f64; 2]) -> Mark {
    let away = [at[0] - middle[0], at[1] - middle[1]];
    let far = away[0].hypot(away[1]).max(1e-9);
    let letter_at = [0, 1].map(|k| at[k] + away[k] / far * 34.0);
    Mark {
        letter: letter.to_owned(),
        at,
        letter_at,
    }
}

/// Words nearer to a dart than this are hard to read, screen units.
const CLEAR_OF_DARTS: f64 = 45.0;

impl Dimension {
    /// With its words moved along, where a dart runs through its middle.
    fn clear_of(self, darts: &[[[f64; 2]; 3]]) -> Self {
        let at = self.words_at;
        if !darts
            .iter()
            .flatten()
            .any(|p| distance(*p, at) < CLEAR_OF_DARTS)
        {
            return self;
        }
        let words_at = [0, 1].map(|k| at[k] - (self.to[k] - self.from[k]) * 0.25);
        Self { words_at, ..self }
    }
}

/// A line with its words beside its middle, on the side away from a third point, never upside down.
fn dimension(from: [f64; 2], to: [f64; 2], words: String, away_from: [f64; 2]) -> Dimension {
    let along = [to[0] - from[0], to[1] - from[1]];
    let length = along[0].hypot(along[1]).max(1e-9);
    let mut across = [-along[1] / length, along[0] / length];
    let middle = [0, 1].map(|k| (from[k] + to[k]) / 2.0);
    let side = (away_from[0] - middle[0]) * across[0] + (away_from[1] - middle[1]) * across[1];
    if side > 0.0 {
        across = across.map(|c| -c);
    }
    let mut turned = along[1].atan2(along[0]).to_degrees();
    if turned > 90.0 {
        turned -= 180.0;
    } else if turned <= -90.0 {
        turned += 180.0;
    }
    Dimension {
        from,
        to,
        words_at: [0, 1].map(|k| middle[k] + across[k] * 15.0),
        turned,
        words,
    }
}

/// A bar of a round length that takes about a quarter of the width.
fn bar(view: &View, room: Room) -> Option<(f64, String)> {
    let lengths = [
        1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0,
    ];
    let mm = lengths
        .into_iter()
        .rev()
        .find(|mm| mm * view.px_per_mm <= room.width * 0.3)?;
    Some((mm * view.px_per_mm, format!("{mm} mm")))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::units::Length;

    fn live() -> LivePicture {
        LivePicture {
            outline: vec![vec![
                [-30.0, -20.0],
                [30.0, -20.0],
                [30.0, 20.0],
                [-30.0, 20.0],
            ]],
            crosses: vec![
                ("A".into(), [-150.0, -100.0]),
                ("B".into(), [150.0, -100.0]),
            ],
            as_drawn: vec![
                ("A".into(), [-150.0, -100.0]),
                ("B".into(), [140.0, -100.0]),
            ],
            could_be: vec![("A".into(), [-150.0, -100.0], [1.0, 0.5, 0.0])],
            darts: vec![[[0.0, 30.0], [-4.0, 60.0], [4.0, 60.0]]],
            worst: Length::from_mm(1.2),
            allowed: Length::from_mm(3.0),
            warnings: Vec::new(),
            tighter: None,
        }
    }

    const ROOM: Room = Room {
        width: 640.0,
        height: 480.0,
        margin: 60.0,
    };

    #[test]
    fn a_picture_is_true_to_proportion_and_inside_its_room() {
        let scene = scene(&live(), &Words::default(), ROOM, true);
        let (a, b) = (scene.marks[0].at, scene.marks[1].at);
        let px_per_mm = (b[0] - a[0]) / 300.0;
        assert!((scene.half[0] / 30.0 - px_per_mm).abs() < 1e-9);
        assert!((scene.half[1] / 20.0 - px_per_mm).abs() < 1e-9);
        for p in [a, b, scene.spot] {
            assert!(
                (60.0..=580.0).contains(&p[0]) && (60.0..=420.0).contains(&p[1]),
                "{p:?}"
            );
        }
        // Up in the plane is up on the screen.
        assert!(scene.spot[1] < a[1]);
    }

    #[test]
    fn what_the_drawing_has_is_shown_where_it_differs_and_ellipses_say_how_much_larger_they_are() {
        let scene = scene(&live(), &Words::default(), ROOM, true);
        assert_eq!(scene.as_drawn.len(), 1);
        assert!(scene.magnified > 1.0 && scene.could_be[0].1[0] <= ELLIPSE_SHOWN);
    }

    #[test]
    fn darts_are_drawn_from_edge_to_tip_to_edge_once_the_marks_are_real() {
        let scene = scene(&live(), &Words::default(), ROOM, true);
        assert_eq!(scene.tips.len(), 1);
        let [x, y] = scene.tips[0];
        // The tip is straight above the spot, and its edges are above the tip.
        assert!((x - scene.spot[0]).abs() < 1e-9 && y < scene.spot[1]);
        assert!(scene.darts.contains(&format!("L{x:.1} {y:.1}L")));
        let bare = super::scene(&live(), &Words::default(), ROOM, false);
        assert!(bare.darts.is_empty() && bare.tips.is_empty());
    }

    #[test]
    fn words_move_along_where_a_dart_runs_through_their_place() {
        let line = || dimension([0.0, 0.0], [400.0, 0.0], String::new(), [200.0, -50.0]);
        let at = line().words_at;
        assert_eq!(line().clear_of(&[]), line());
        assert_eq!(line().clear_of(&[[[900.0, 0.0]; 3]]), line());
        let moved = line().clear_of(&[[[200.0, -60.0], [195.0, 10.0], [205.0, 10.0]]]);
        assert!((at[0] - moved.words_at[0] - 100.0).abs() < 1e-9);
    }

    #[test]
    fn without_real_marks_only_the_shape_is_shown_and_fills_the_room() {
        let scene = scene(&live(), &Words::default(), ROOM, false);
        assert!(scene.marks.is_empty() && scene.dimensions.is_empty());
        assert!((scene.half[0] - 260.0).abs() < 1e-9 || (scene.half[1] - 180.0).abs() < 1e-9);
    }

    #[test]
    fn words_beside_a_line_are_never_upside_down() {
        for (to, turned) in [
            ([10.0, 0.0], 0.0),
            ([-10.0, 0.0], 0.0),
            ([0.0, -10.0], 90.0),
            ([0.0, 10.0], 90.0),
        ] {
            let d = dimension([0.0, 0.0], to, String::new(), [5.0, 5.0]);
            assert!((d.turned - turned).abs() < 1e-9, "{to:?} {}", d.turned);
        }
    }

    #[test]
    fn nothing_that_is_no_number_reaches_the_screen() {
        let mut live = live();
        live.outline = vec![vec![[f64::NAN, 0.0]]];
        live.crosses.clear();
        assert_eq!(
            scene(&live, &Words::default(), ROOM, true),
            Scene::default()
        );
    }
}
