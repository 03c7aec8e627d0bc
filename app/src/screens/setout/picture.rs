//! The face drawn true to scale: marks, what has to land, the readings between them. What a tape
//! has not fixed can be dragged, or put down with a tap.

use super::hand::{Hand, Looked};
use super::to_do;
use crate::ports::pointer;
use leptos::ev::PointerEvent;
use leptos::prelude::*;
use samespot_core::job::PointRef;
use samespot_core::prepare::setout::{FaceView, Stands};

/// The room of the drawing, in its own units.
const WIDE: f64 = 1000.0;
const TALL: f64 = 500.0;
/// What stays free around it.
const FREE: f64 = 70.0;
/// The ring where something may be.
const EITHER: f64 = 18.0;
/// A pointer that went less far than this tapped.
const TAP: f64 = 10.0;

/// From the face's picture (mm, y up) to the screen's (y down).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Fit {
    scale: f64,
    middle_mm: [f64; 2],
}

impl Fit {
    fn of(view: &FaceView) -> Self {
        let [l, b, r, t] = view.bounds_mm;
        let scale =
            ((WIDE - 2.0 * FREE) / (r - l).max(1.0)).min((TALL - 2.0 * FREE) / (t - b).max(1.0));
        Self {
            scale,
            middle_mm: [(l + r) / 2.0, (b + t) / 2.0],
        }
    }

    fn screen(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            WIDE / 2.0 + (x - self.middle_mm[0]) * self.scale,
            TALL / 2.0 - (y - self.middle_mm[1]) * self.scale,
        ]
    }

    fn face(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.middle_mm[0] + (x - WIDE / 2.0) / self.scale,
            self.middle_mm[1] - (y - TALL / 2.0) / self.scale,
        ]
    }
}

/// A round length for the bar, near a fifth of the drawing's width.
fn bar_mm(scale: f64) -> f64 {
    let wanted = WIDE / 5.0 / scale;
    [
        1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0,
    ]
    .into_iter()
    .rev()
    .find(|l| *l <= wanted)
    .unwrap_or(1.0)
}

/// The line as far as the drawing goes: shortened about its middle, which is in it.
fn inside(a: [f64; 2], b: [f64; 2]) -> [[f64; 2]; 2] {
    let middle = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
    let half = [(b[0] - a[0]) / 2.0, (b[1] - a[1]) / 2.0];
    let room = |at: f64, step: f64, wide: f64| {
        let free = (at - 6.0).min(wide - 6.0 - at).max(0.0);
        if step.abs() > free {
            free / step.abs()
        } else {
            1.0
        }
    };
    let k = room(middle[0], half[0], WIDE).min(room(middle[1], half[1], TALL));
    [-k, k].map(|k| [middle[0] + k * half[0], middle[1] + k * half[1]])
}

/// Where a pointer is, in the drawing's units.
fn at(ev: &PointerEvent) -> Option<[f64; 2]> {
    pointer::place(ev, WIDE, TALL)
}

/// What is being dragged: from where, and where it is now.
#[derive(Debug, Clone, PartialEq)]
struct Drag {
    point: PointRef,
    from: [f64; 2],
    now: [f64; 2],
}

#[component]
pub(super) fn Picture(hand: Hand) -> impl IntoView {
    let drag = RwSignal::new(None::<Drag>);
    let fit = move || match hand.looked.get_untracked() {
        Looked::View(view) => Some((Fit::of(&view), view)),
        _ => None,
    };
    // The nearest point under a finger: fingers are wide.
    let under = move |p: [f64; 2]| -> Option<PointRef> {
        let (fit, view) = fit()?;
        let far = |q: [f64; 2]| {
            let [x, y] = fit.screen(q);
            (x - p[0]).hypot(y - p[1])
        };
        to_do::points(&view)
            .into_iter()
            .filter_map(|(point, _, stands)| match stands {
                Stands::Held { at_mm, .. } => Some((point, far(at_mm))),
                _ => None,
            })
            .filter(|(_, d)| *d < 44.0)
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(point, _)| point)
    };
    let down = move |ev: PointerEvent| {
        let Some(p) = at(&ev) else { return };
        if hand.placing.get_untracked() {
            return;
        }
        if let Some(point) = under(p) {
            ev.prevent_default();
            drag.set(Some(Drag {
                point,
                from: p,
                now: p,
            }));
        }
    };
    let moved = move |ev: PointerEvent| {
        if drag.with_untracked(Option::is_none) {
            return;
        }
        if let Some(p) = at(&ev) {
            drag.update(|d| {
                if let Some(d) = d {
                    d.now = p;
                }
            });
        }
    };
    let up = move |ev: PointerEvent| {
        let Some((fit, _)) = fit() else { return };
        let p = at(&ev);
        if hand.placing.get_untracked() {
            if let (Some(point), Some(p)) = (hand.chosen.get_untracked(), p) {
                hand.put_down(point, fit.face(p));
            }
            return;
        }
        let Some(d) = drag.get_untracked() else {
            return;
        };
        drag.set(None);
        let p = p.unwrap_or(d.now);
        if (p[0] - d.from[0]).hypot(p[1] - d.from[1]) < TAP {
            hand.choose(Some(d.point));
        } else {
            hand.put_down(d.point, fit.face(p));
        }
    };
    let shown = Memo::new(move |_| hand.view());
    view! {
        <svg
            class="setout-picture"
            class:placing=move || hand.placing.get()
            class:nothing=move || hand.looked.with(|l| matches!(l, Looked::Cannot(_)))
            viewBox=format!("0 0 {WIDE} {TALL}")
            role="img"
            aria-label="The face, true to scale, seen from outside"
            on:pointerdown=down
            on:pointermove=moved
            on:pointerup=up
            on:pointerleave=move |_| drag.set(None)
        >
            {move || {
                // What is taken in hand elsewhere is ringed here too.
                hand.chosen.track();
                shown.get().map(|view| drawing(hand, &view))
            }}
            {move || drag.get().map(|d| {
                let [x, y] = d.now;
                view! { <path class="wide" d=format!("M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}", x - 30.0, x + 30.0, y - 30.0, y + 30.0) /> }
            })}
        </svg>
    }
}

fn drawing(hand: Hand, view: &FaceView) -> AnyView {
    let fit = Fit::of(view);
    let lines = view
        .readings
        .iter()
        .filter_map(|r| {
            let [a, b] = r.line_mm?;
            let ([x1, y1], [x2, y2]) = (fit.screen(a), fit.screen(b));
            let class = if r.doubt.is_some() {
                "reading odd"
            } else {
                "reading"
            };
            Some(view! { <path class=class d=format!("M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}") /> })
        })
        .collect_view();
    let next = to_do::next_reading(view).and_then(|(ends, _)| {
        let place = |p: &PointRef| {
            to_do::points(view)
                .into_iter()
                .find_map(|(q, _, s)| match s {
                    Stands::Held { at_mm, .. } if q == *p => Some(fit.screen(at_mm)),
                    _ => None,
                })
        };
        let ([x1, y1], [x2, y2]) = (place(&ends[0])?, place(&ends[1])?);
        Some(view! { <path class="asked" d=format!("M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}") /> })
    });
    let outlines = view
        .features
        .iter()
        .map(|f| {
            let path = |runs: &[Vec<[f64; 2]>], closed: bool| {
                let mut d = String::new();
                for run in runs {
                    for (k, p) in run.iter().enumerate() {
                        let [x, y] = fit.screen(*p);
                        d.push_str(&format!("{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" }));
                    }
                    d.push_str(if closed { "Z" } else { "" });
                }
                d
            };
            let whole = f.away.is_empty();
            view! {
                <path class=if whole { "outline" } else { "outline open" } fill-rule="evenodd" d=path(&f.outline, whole) />
                {(!whole).then(|| view! { <path class="dash" d=path(&f.away, false) /> })}
            }
        })
        .collect_view();
    let points = to_do::points(view)
        .into_iter()
        .map(|(point, title, stands)| {
            let mark = matches!(point, PointRef::Mark(_));
            let chosen = hand.chosen.with_untracked(|c| c.as_ref() == Some(&point));
            let crosses: Vec<[f64; 2]> = match &stands {
                Stands::Held { at_mm, .. } => vec![fit.screen(*at_mm)],
                Stands::EitherSide { either_mm, .. } => {
                    either_mm.iter().flatten().map(|p| fit.screen(*p)).collect()
                }
                Stands::Open { .. } => Vec::new(),
            };
            let sure = matches!(stands, Stands::Held { .. });
            let clear = clear_of_outline(&point, view, &fit);
            crosses
                .into_iter()
                .map(|[x, y]| {
                    let r = if mark { 16.0 } else { 9.0 };
                    let cross = format!(
                        "M{:.1} {y:.1}H{:.1}M{x:.1} {:.1}V{:.1}",
                        x - r,
                        x + r,
                        y - r,
                        y + r
                    );
                    let class = if mark { "wide" } else { "centre" };
                    let [tx, ty] = clear.unwrap_or([x + 12.0, y - 14.0]);
                    // Where it may be is a ring with its name and a question, not a cross: it is one of two.
                    let (shown, tx, name) = if sure {
                        (view! { <path class=class d=cross /> }.into_any(), tx, title.clone())
                    } else {
                        let ring = view! {
                            <circle class="either" cx=format!("{x:.1}") cy=format!("{y:.1}") r=EITHER />
                        };
                        (ring.into_any(), x + EITHER + 4.0, format!("{title} ?"))
                    };
                    view! {
                        {chosen.then(|| view! { <circle class="narrow" cx=format!("{x:.1}") cy=format!("{y:.1}") r="30" /> })}
                        {shown}
                        <text class:mark=mark x=format!("{tx:.1}") y=format!("{ty:.1}")>{name}</text>
                    }
                })
                .collect_view()
        })
        .collect_view();
    let edges = view
        .edges
        .iter()
        .filter_map(|e| {
            let mut d = String::new();
            for (k, p) in e.line.iter().enumerate() {
                let [x, y] = fit.screen(*p);
                d.push_str(&format!("{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" }));
            }
            let [x, y] = fit.screen(*e.line.last()?);
            Some(view! {
                <path class="edge" d=d />
                <text x=format!("{:.1}", x + 8.0) y=format!("{:.1}", y - 8.0)>
                    <title>{e.words.clone()}</title>
                    {e.letter.clone()}
                </text>
            })
        })
        .collect_view();
    let mirrors = view
        .features
        .iter()
        .filter_map(|f| {
            let [a, b] = f.made.as_ref()?.line_mm?;
            let [[x1, y1], [x2, y2]] = inside(fit.screen(a), fit.screen(b));
            let (x, y) = if y1 < y2 { (x1, y1) } else { (x2, y2) };
            Some(view! {
                <path class="mirror" d=format!("M{x1:.1} {y1:.1}L{x2:.1} {y2:.1}") />
                <text x=format!("{:.1}", x + 12.0) y=format!("{:.1}", y + 30.0)>"mirrored here"</text>
            })
        })
        .collect_view();
    let bar = bar_mm(fit.scale);
    let (left, right) = (FREE / 2.0, FREE / 2.0 + bar * fit.scale);
    let up = view.up.as_ref().map(|up| {
        // From the top right corner of the drawing, clear of what is drawn.
        let (x, y) = (WIDE - FREE, FREE);
        let way = [up.towards_rad.cos(), -up.towards_rad.sin()];
        let (tail, tip) = (
            [x - 40.0 * way[0], y - 40.0 * way[1]],
            [x + 40.0 * way[0], y + 40.0 * way[1]],
        );
        let barb = |side: f64| {
            [
                tip[0] - 18.0 * way[0] - side * 10.0 * way[1],
                tip[1] - 18.0 * way[1] + side * 10.0 * way[0],
            ]
        };
        let (l, r) = (barb(1.0), barb(-1.0));
        view! {
            <path class="wide up" d=format!(
                "M{:.1} {:.1}L{:.1} {:.1}M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}",
                tail[0], tail[1], tip[0], tip[1], l[0], l[1], tip[0], tip[1], r[0], r[1]
            ) />
            <text x=format!("{:.1}", x - 70.0) y=format!("{:.1}", y + 70.0)>"up"</text>
        }
    });
    let pips = hand
        .pips
        .get()
        .into_iter()
        .map(|(name, at)| {
            let [x, y] = fit.screen(at);
            view! {
                <circle class="narrow" cx=format!("{x:.1}") cy=format!("{y:.1}") r="8" />
                <circle class="wide" cx=format!("{x:.1}") cy=format!("{y:.1}") r="2" />
                <text x=format!("{:.1}", x + 14.0) y=format!("{:.1}", y + 10.0)>{name}</text>
            }
        })
        .collect_view();
    view! {
        {edges}
        {lines}
        {pips}
        {up}
        {mirrors}
        {next}
        {outlines}
        {points}
        <path class="wide" d=format!("M{left:.1} {0:.1}V{1:.1}H{right:.1}V{0:.1}", TALL - 30.0, TALL - 18.0) />
        <text x=format!("{:.1}", right + 12.0) y=format!("{:.1}", TALL - 16.0)>{format!("{bar} mm")}</text>
    }
    .into_any()
}

/// Where the name of a feature stands: over its outline, or under it where the drawing ends above.
fn clear_of_outline(point: &PointRef, view: &FaceView, fit: &Fit) -> Option<[f64; 2]> {
    let PointRef::Feature(id) = point else {
        return None;
    };
    let feature = view.features.iter().find(|f| f.feature == *id)?;
    let dots = feature.outline.iter().flatten().map(|p| fit.screen(*p));
    let [left, top, low] = dots.fold([f64::INFINITY, f64::INFINITY, 0.0], |[l, t, b], [x, y]| {
        [l.min(x), t.min(y), b.max(y)]
    });
    let room = top > 44.0;
    left.is_finite()
        .then_some([left, if room { top - 12.0 } else { low + 34.0 }])
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
pub(super) mod tests {
    use super::*;

    pub fn view(bounds_mm: [f64; 4]) -> FaceView {
        FaceView {
            face: samespot_core::job::FaceId::new("f").unwrap(),
            name: String::new(),
            marks: Vec::new(),
            features: Vec::new(),
            readings: Vec::new(),
            edges: Vec::new(),
            bounds_mm,
            half_way: None,
            up: None,
            notes: Vec::new(),
        }
    }

    #[test]
    fn a_line_keeps_its_direction_and_stays_in_the_drawing() {
        let [a, b] = inside([500.0, -900.0], [500.0, 1300.0]);
        assert!((a[0] - 500.0).abs() < 1e-9 && (b[0] - 500.0).abs() < 1e-9);
        // Its middle, 200 down, is kept: 194 either way is what fits.
        assert!((a[1] - 6.0).abs() < 1e-9 && (b[1] - 394.0).abs() < 1e-9);
        assert_eq!(
            inside([10.0, 10.0], [90.0, 50.0]),
            [[10.0, 10.0], [90.0, 50.0]]
        );
    }

    #[test]
    fn what_is_put_down_comes_back_where_it_was_put() {
        let fit = Fit::of(&view([-200.0, -50.0, 300.0, 150.0]));
        let back = fit.face(fit.screen([123.0, 45.0]));
        assert!((back[0] - 123.0).abs() < 1e-9 && (back[1] - 45.0).abs() < 1e-9);
        // Up on the face is up on the screen.
        assert!(fit.screen([0.0, 100.0])[1] < fit.screen([0.0, 0.0])[1]);
        // Nothing of it falls out of the drawing.
        assert!(fit.screen([-200.0, 150.0])[0] >= FREE - 1e-9);
        assert!((bar_mm(fit.scale) - 100.0).abs() < 1e-9);
    }
}
