//! Pass 2: the general reader's tree to painted shapes in drawing units.

mod curves;

use super::inventory::{Item, Kind, Seen};
use super::region::{self, Grid, Region, Rule};
use super::{
    Artwork, ArtworkError, DeclaredSize, Fill, IgnoredKind, Note, Painted, Question, Stroke,
    TextBox, Underlay,
};
use crate::frames::Artwork as Drawing;
use crate::outline::{Bounds, Outline};
use crate::units::Length;
use curves::{affine, colour, flat, local, pen, rule_of, tidied};
use kurbo::{Affine, BezPath, PathEl};
use std::collections::{BTreeMap, BTreeSet};

/// Coordinates that step by more than this are warned of, in millimetres (the flattening tolerance).
const COARSE_WARN: f64 = 0.02;
/// … and by more than this refused.
const COARSE_REFUSE: f64 = 0.2;

/// A drawing with more segments is slow to cut, and nearly always a traced photograph.
const HEAVY: usize = 50_000;

/// Pairs of painted areas compared when looking for overlaps.
const MOST_PAIRS: usize = 400;

/// A line style with the path it runs along, before the drawing's transform bends it.
#[derive(Debug, Clone)]
pub(super) struct Pen {
    pub(super) path: BezPath,
    pub(super) style: kurbo::Stroke,
    pub(super) drawing_from_path: Affine,
}

struct Collect {
    drawing_from_user: Affine,
    grid: Grid,
    tidy: f64,
    items: BTreeMap<usize, Item>,
    met: BTreeSet<usize>,
    ignored: super::inventory::List,
    shapes: Vec<Painted>,
    texts: Vec<TextBox>,
    underlays: Vec<Underlay>,
    page: Option<Bounds<Drawing>>,
    resolved: usize,
    clipped: usize,
    coarse: f64,
}

pub(super) fn collect(seen: Seen) -> Result<Artwork, ArtworkError> {
    let options = usvg::Options {
        image_href_resolver: usvg::ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..usvg::Options::default()
    };
    let tree = usvg::Tree::from_str(&seen.copy, &options).map_err(|e| ArtworkError::Xml {
        line: 1,
        character: 1,
        what: e.to_string(),
    })?;
    let extent = extent_of(&tree, &seen);
    let page = seen.page.size.map(|(w, h)| {
        let at = |x, y| crate::frames::Point2::from_mm(x, y);
        Bounds {
            min: at(0.0, 0.0),
            max: at(w, h),
        }
    });
    let mut all = Collect {
        drawing_from_user: seen.page.drawing_from_user,
        grid: Grid::over(extent),
        tidy: extent * 1e-6,
        items: seen.items,
        met: BTreeSet::new(),
        ignored: seen.ignored,
        shapes: Vec::new(),
        texts: Vec::new(),
        underlays: Vec::new(),
        page,
        resolved: 0,
        clipped: 0,
        coarse: 0.0,
    };
    all.group(tree.root(), None, &[]);
    all.not_kept();
    let step = all.coarse;
    if step > COARSE_REFUSE {
        return Err(ArtworkError::Coarse { step });
    }
    let mut notes = seen.notes;
    if step > COARSE_WARN {
        notes.push(Note::Coarse { step });
    }
    if all.resolved > 0 {
        notes.push(Note::Resolved {
            shapes: all.resolved,
        });
    }
    if all.clipped > 0 {
        notes.push(Note::Clipped {
            shapes: all.clipped,
        });
    }
    let mirrored = all.shapes.iter().filter(|s| s.mirrored).count();
    let letters = all.texts.iter().filter(|t| t.mirrored).count();
    if mirrored + letters > 0 {
        notes.push(Note::Mirrored {
            shapes: mirrored + letters,
            lettering: letters > 0,
        });
    }
    if seen.segments > HEAVY {
        notes.push(Note::Heavy {
            segments: seen.segments,
        });
    }
    let questions = questions(&seen.page.declared, &all);
    let length = Length::from_mm;
    Ok(Artwork {
        size: seen.page.declared,
        page: seen.page.size.map(|(w, h)| (length(w), length(h))),
        shapes: all.shapes,
        texts: all.texts,
        underlays: all.underlays,
        ignored: all.ignored.finish(),
        notes,
        questions,
    })
}

/// The larger side of page and drawing together, in drawing units.
fn extent_of(tree: &usvg::Tree, seen: &Seen) -> f64 {
    let b = tree.root().abs_bounding_box();
    let scale = seen.page.drawing_from_user.as_coeffs();
    let drawn = f64::from(b.width()) * scale.first().map_or(1.0, |s| s.abs());
    let drawn_up = f64::from(b.height()) * scale.get(3).map_or(1.0, |s| s.abs());
    let page = seen.page.size.map_or(0.0, |(w, h)| w.max(h));
    let extent = drawn.max(drawn_up).max(page);
    if extent.is_finite() && extent > 0.0 {
        extent
    } else {
        1.0
    }
}

fn questions(size: &DeclaredSize, all: &Collect) -> Vec<Question> {
    let mut questions = Vec::new();
    if !matches!(size, DeclaredSize::Mm { .. }) {
        questions.push(Question::Size);
    }
    let lines: Vec<&Stroke> = all
        .shapes
        .iter()
        .filter_map(|s| s.stroke.as_ref())
        .collect();
    if !lines.is_empty() {
        questions.push(Question::Strokes {
            lines: lines.len(),
            dashed: lines.iter().filter(|s| s.dashed).count(),
            keeping_width: lines.iter().filter(|s| s.keeps_width).count(),
        });
    }
    let pairs = overlaps(&all.shapes, all.grid);
    if pairs > 0 {
        questions.push(Question::Overlaps { pairs });
    }
    let outside = all.shapes.iter().filter(|s| s.outside).count();
    if outside > 0 {
        questions.push(Question::Outside { shapes: outside });
    }
    questions
}

fn overlaps(shapes: &[Painted], grid: Grid) -> usize {
    let mut fills: Vec<_> = shapes
        .iter()
        .filter_map(|s| s.fill.as_ref())
        .filter_map(|f| Some((f.outline.bounds()?, &f.outline)))
        .collect();
    fills.sort_by(|(a, _), (b, _)| a.min.x_mm().total_cmp(&b.min.x_mm()));
    let mut compared = 0;
    let mut pairs = 0;
    for (i, (a, one)) in fills.iter().enumerate() {
        let reached = |b: &Bounds<Drawing>| b.min.x_mm() <= a.max.x_mm();
        for (b, other) in fills.iter().skip(i + 1).take_while(|(b, _)| reached(b)) {
            if !a.meets(*b) {
                continue;
            }
            compared += 1;
            if compared > MOST_PAIRS {
                return pairs;
            }
            if !Region::of(one, grid)
                .shared(&Region::of(other, grid))
                .is_empty()
            {
                pairs += 1;
            }
        }
    }
    pairs
}

fn number(id: &str) -> Option<usize> {
    id.strip_prefix('e')?.parse().ok()
}

impl Collect {
    fn group(&mut self, group: &usvg::Group, owner: Option<usize>, clips: &[Region]) {
        let id = number(group.id());
        let repeat = id.filter(|n| {
            self.items
                .get(n)
                .is_some_and(|i| matches!(i.kind, Kind::Repeat))
        });
        let owner = owner.or(repeat);
        if group.opacity().get() <= 0.0 {
            return;
        }
        let more: Vec<Region>;
        let mut own = clips;
        if let Some(clip) = group.clip_path() {
            let to = self.drawing_from_user * affine(group.abs_transform());
            let area = self.clip(clip, to);
            more = clips.iter().cloned().chain([area]).collect();
            own = &more;
        }
        for node in group.children() {
            match node {
                usvg::Node::Group(g) => self.group(g, owner, own),
                usvg::Node::Path(p) => self.path(p, owner, own),
                usvg::Node::Image(_) | usvg::Node::Text(_) => {}
            }
        }
    }

    /// The area a clip path lets through (CSS Masking 1: the union of its shapes, cut by its own).
    fn clip(&self, clip: &usvg::ClipPath, drawing_from_group: Affine) -> Region {
        let to = drawing_from_group * affine(clip.transform());
        let mut parts = Vec::new();
        self.clip_parts(clip.root(), to, &mut parts);
        let area = Region::union(parts);
        match clip.clip_path() {
            Some(further) => area.shared(&self.clip(further, drawing_from_group)),
            None => area,
        }
    }

    fn clip_parts(&self, group: &usvg::Group, drawing_from_root: Affine, parts: &mut Vec<Region>) {
        let first = parts.len();
        for node in group.children() {
            match node {
                usvg::Node::Group(g) => self.clip_parts(g, drawing_from_root, parts),
                usvg::Node::Path(p) if p.is_visible() => {
                    let rule = p.fill().map_or(Rule::NonZero, |f| rule_of(f.rule()));
                    let path = drawing_from_root * affine(p.abs_transform()) * local(p);
                    if let Some(outline) = self.closed(&path) {
                        parts.push(Region::filled(&outline, rule, self.grid));
                    }
                }
                _ => {}
            }
        }
        if let Some(clip) = group.clip_path() {
            let area = self.clip(clip, drawing_from_root * affine(group.abs_transform()));
            for part in parts.iter_mut().skip(first) {
                *part = part.shared(&area);
            }
        }
    }

    fn path(&mut self, path: &usvg::Path, owner: Option<usize>, clips: &[Region]) {
        let id = number(path.id());
        let Some(id) = id.filter(|n| self.items.contains_key(n)).or(owner) else {
            return;
        };
        let Some(item) = self.items.get(&id).cloned() else {
            return;
        };
        self.met.insert(id);
        let user_from_path = affine(path.abs_transform());
        let to = self.drawing_from_user * user_from_path;
        // The page itself is turned over once; only a second mirror is the drawing's own.
        let mirrored = user_from_path.determinant() < 0.0;
        let raw = local(path);
        self.grain(&raw, to);
        let drawn = to * raw.clone();
        match item.kind {
            Kind::Words(words) => {
                let about = self.closed(&drawn);
                self.texts.push(TextBox {
                    at: item.at,
                    words,
                    about,
                    mirrored,
                });
            }
            Kind::Picture(media_type, base64) => {
                let frame = self.closed(&drawn);
                self.underlays.push(Underlay {
                    at: item.at,
                    media_type,
                    base64,
                    frame,
                });
            }
            Kind::Figure { .. } | Kind::Repeat => {
                let keeps_width = matches!(item.kind, Kind::Figure { keeps_width: true });
                let was = (self.ignored.len(), self.shapes.len());
                if path.is_visible() {
                    self.shape(
                        path,
                        &item,
                        &raw,
                        &drawn,
                        (to, mirrored, keeps_width),
                        clips,
                    );
                }
                if was == (self.ignored.len(), self.shapes.len()) && item.expected {
                    self.ignored.add(IgnoredKind::Unpainted, item.at, 1, "");
                }
            }
        }
    }

    fn shape(
        &mut self,
        path: &usvg::Path,
        item: &Item,
        raw: &BezPath,
        drawn: &BezPath,
        (to, mirrored, keeps_width): (Affine, bool, bool),
        clips: &[Region],
    ) {
        let fill = path.fill().filter(|f| f.opacity().get() > 0.0);
        let stroke = path.stroke().filter(|s| s.opacity().get() > 0.0);
        let fill = fill.and_then(|f| {
            let outline = self.closed(drawn)?;
            let (outline, crossed) = region::resolved(&outline, rule_of(f.rule()), self.grid);
            self.resolved += usize::from(crossed && !outline.is_empty());
            (!outline.is_empty()).then(|| Fill {
                colour: colour(f.paint()),
                outline,
            })
        });
        let stroke = stroke.and_then(|s| {
            let centre = self.outline(drawn)?;
            let scale = libm::sqrt(to.determinant().abs());
            let width = f64::from(s.width().get());
            let style = pen(s);
            let pen = if keeps_width {
                Pen {
                    path: drawn.clone(),
                    style,
                    drawing_from_path: Affine::IDENTITY,
                }
            } else {
                Pen {
                    path: raw.clone(),
                    style,
                    drawing_from_path: to,
                }
            };
            Some(Stroke {
                colour: colour(s.paint()),
                centre,
                width: Length::from_mm(if keeps_width { width } else { width * scale }),
                dashed: s.dasharray().is_some(),
                keeps_width,
                pen,
            })
        });
        if fill.is_none() && stroke.is_none() {
            self.ignored.add(IgnoredKind::Empty, item.at.clone(), 1, "");
            return;
        }
        let mut painted = Painted {
            at: item.at.clone(),
            fill,
            stroke,
            outside: false,
            mirrored,
        };
        if !clips.is_empty() && !self.cut(&mut painted, clips) {
            self.ignored
                .add(IgnoredKind::ClippedAway, item.at.clone(), 1, "");
            return;
        }
        let bounds = [
            painted.fill.as_ref().and_then(|f| f.outline.bounds()),
            painted.stroke.as_ref().and_then(|s| s.centre.bounds()),
        ];
        let bounds = bounds.into_iter().flatten().reduce(Bounds::union);
        // A hair over the edge is drawing, not a question.
        let slack = self.tidy * 100.0;
        painted.outside = match (self.page, bounds) {
            (Some(page), Some(b)) => {
                let grown = Bounds {
                    min: crate::frames::Point2::from_mm(-slack, -slack),
                    max: page.max + crate::frames::Vector2::from_mm(slack, slack),
                };
                !grown.holds(b)
            }
            _ => false,
        };
        self.shapes.push(painted);
    }

    /// Cuts a shape by its clip paths; false when nothing is left. Curves stay where a clip does not
    /// touch them; a line that is cut becomes the area it covers.
    fn cut(&mut self, painted: &mut Painted, clips: &[Region]) -> bool {
        let mut cut = false;
        let mut through = |area: Region| -> Option<Region> {
            let inside = clips.iter().fold(area.clone(), |a, c| a.shared(c));
            if area.without(&inside).is_empty() {
                return None;
            }
            cut = true;
            Some(inside)
        };
        if let Some(fill) = painted.fill.as_mut()
            && let Some(inside) = through(Region::of(&fill.outline, self.grid))
        {
            fill.outline = inside.outline(self.grid);
        }
        if let Some(stroke) = painted.stroke.take() {
            let edges = super::prepare::edges(&stroke, true, self.grid);
            match through(edges) {
                None => painted.stroke = Some(stroke),
                Some(inside) if !inside.is_empty() => {
                    let before = painted
                        .fill
                        .as_ref()
                        .map(|f| Region::of(&f.outline, self.grid));
                    let area = Region::union(before.into_iter().chain([inside]));
                    painted.fill = Some(Fill {
                        colour: stroke.colour,
                        outline: area.outline(self.grid),
                    });
                }
                Some(_) => {}
            }
        }
        painted.fill.take_if(|f| f.outline.is_empty());
        let left = painted.fill.is_some() || painted.stroke.is_some();
        self.clipped += usize::from(cut && left);
        left
    }

    /// How far neighbouring f32 numbers of this path lie apart once drawn.
    fn grain(&mut self, path: &BezPath, to: Affine) {
        let box_of = path.control_box();
        let most = [box_of.x0, box_of.x1, box_of.y0, box_of.y1]
            .into_iter()
            .fold(0.0_f64, |m, v| m.max(v.abs()));
        if most > 0.0 && most.is_finite() {
            // 24 significant bits: numbers between 2^k and 2^(k+1) step by 2^(k−23).
            let step = libm::exp2(libm::floor(libm::log2(most)) - 23.0);
            self.coarse = self.coarse.max(step * libm::sqrt(to.determinant().abs()));
        }
    }

    /// The sub-paths of a path that is filled: every one closed, those without area left out.
    fn closed(&self, path: &BezPath) -> Option<Outline<Drawing>> {
        let mut closed = BezPath::new();
        for sub in tidied(path, self.tidy).subpaths() {
            for el in sub {
                closed.push(*el);
            }
            if !matches!(sub.last(), Some(PathEl::ClosePath)) {
                closed.close_path();
            }
        }
        let outline = Outline::from_paths_mm([&closed]).ok()?;
        let least = self.tidy * self.tidy;
        let outline: Outline<Drawing> = outline
            .contours()
            .iter()
            .filter(|c| c.signed_area_mm2().abs() > least || !flat(c, self.tidy))
            .cloned()
            .collect();
        (!outline.is_empty()).then_some(outline)
    }

    fn outline(&self, path: &BezPath) -> Option<Outline<Drawing>> {
        Outline::from_paths_mm([&tidied(path, self.tidy)])
            .ok()
            .filter(|o| !o.is_empty())
    }

    fn not_kept(&mut self) {
        let missing: Vec<Item> = self
            .items
            .iter()
            .filter(|(id, item)| item.expected && !self.met.contains(id))
            .map(|(_, item)| item.clone())
            .collect();
        for item in missing {
            self.ignored.add(IgnoredKind::NotKept, item.at, 1, "");
        }
    }
}
