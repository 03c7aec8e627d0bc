//! What a browser prints of a screen, by its styles.

use super::inspect::{Faults, is};

/// Clause 10: what a browser prints of a screen with a drawing is the warning and nothing else. Reads the
/// rules between `@media print {` and its end, one after the other.
pub(crate) fn print_faults(styles: &str) -> Faults {
    let mut out = Faults::new();
    let after = styles.split_once("@media print {").map_or("", |(_, b)| b);
    let (mut rules, mut rest) = (Vec::new(), after);
    while let Some((selector, body)) = rest.split_once('{') {
        if selector.contains('}') {
            break;
        }
        let (body, left) = body.split_once('}').unwrap_or((body, ""));
        rules.push((selector.trim(), body));
        rest = left;
    }
    // Every screen with a drawing: of a template, on any picture that is not mere ornament, in space.
    let drawn = |selector: &str| {
        [".preview", "main svg:not([aria-hidden])", "main canvas"]
            .iter()
            .all(|what| selector.contains(what))
    };
    let says = |end: &str, what: &[&str]| {
        let of = rules.iter().filter(|(s, _)| s.ends_with(end) && drawn(s));
        of.clone().count() == 1 && of.clone().all(|(_, b)| what.iter().all(|w| b.contains(w)))
    };
    is(
        &mut out,
        "10 nothing but the warning",
        says("> *", &["display: none !important"]),
    );
    let warning = [
        "content: \"NOT TO SCALE.",
        "100 %",
        "display: block",
        "32pt",
    ];
    is(&mut out, "10 warning", says("::before", &warning));
    out
}
