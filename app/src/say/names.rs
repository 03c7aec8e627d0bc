//! What files are called.

/// A name for the file of a job: `Quay-puffins 2025-11-25.samespot`.
#[must_use]
pub fn job_file(title: &str, day: &str) -> String {
    let safe: String = title
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || c == '-' || c == '_' {
                c
            } else {
                ' '
            }
        })
        .collect();
    let words: Vec<&str> = safe.split_whitespace().collect();
    let title = if words.is_empty() {
        "job".into()
    } else {
        words.join("-")
    };
    let title: String = title.chars().take(60).collect();
    format!("{title} {day}.samespot")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_hold_nothing_a_file_system_refuses() {
        assert_eq!(
            job_file("Quay puffins", "2025-11-25"),
            "Quay-puffins 2025-11-25.samespot"
        );
        assert_eq!(job_file("a/b\\c: *?", "d"), "a-b-c d.samespot");
        assert_eq!(job_file("  ", "d"), "job d.samespot");
    }
}
