//! What was seen in an artwork file and not taken.

/// One kind of thing that was left out, by its name in the reader's answer.
#[must_use]
pub fn ignored(kind: &str, count: usize) -> String {
    let what = match kind {
        "hidden" => "hidden shapes",
        "script" => "scripts",
        "event-handler" => "things that would run",
        "link" => "links (what was inside them is taken)",
        "foreign-object" => "another document inside the drawing",
        "animation" => "movements",
        "external-image" => "pictures from elsewhere",
        "foreign-image" => "pictures of a kind that is not taken",
        "external-reference" => "parts of other files",
        "import" => "style sheets or fonts from elsewhere",
        "masked" => "shapes behind a mask",
        "filter" => "filters (the shape is taken without)",
        "marker" => "arrow heads along lines",
        "unpainted" => "shapes with neither a fill nor a line",
        "empty" => "shapes without size",
        "unknown-length" => "lengths that can’t be told",
        "bad-transform" => "shapes moved in a way that can’t be read",
        "loop" => "repeats that contain themselves",
        "dangling" => "repeats of something that isn’t in the file",
        "clipped-away" => "shapes that are cut away wholly",
        "not-kept" => "things the reader saw and could not keep",
        "texts" => "texts that are not outlined",
        "pictures" => "pictures inside the drawing",
        "outside" => "shapes outside the page",
        _ => "parts this reader does not know",
    };
    if count > 1 {
        format!("{count} × {what}")
    } else {
        what.to_owned()
    }
}
