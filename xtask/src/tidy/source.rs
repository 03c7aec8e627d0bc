//! Rust source with everything blanked that is not code, so that rules can look for words.

/// The same text, line by line, with comments and the insides of string and character literals
/// replaced by spaces.
pub(super) fn code(text: &str) -> String {
    let mut blank = Blank {
        text: text.as_bytes(),
        out: text.as_bytes().to_vec(),
        at: 0,
    };
    blank.run();
    // Whole literals and comments are blanked, so no character is cut in two.
    String::from_utf8_lossy(&blank.out).into_owned()
}

/// The same code with every item under `#[cfg(test)]` blanked too.
pub(super) fn without_tests(code: &str) -> String {
    let mut out = code.as_bytes().to_vec();
    let mut from = 0;
    while let Some(found) = code.get(from..).and_then(|rest| rest.find("#[cfg(test)]")) {
        let start = from + found;
        let end = item_end(code.as_bytes(), start);
        for byte in &mut out[start..end] {
            if *byte != b'\n' {
                *byte = b' ';
            }
        }
        from = end;
    }
    String::from_utf8_lossy(&out).into_owned()
}

/// Where the item that starts at `start` ends: after its braces, or after its semicolon.
fn item_end(code: &[u8], start: usize) -> usize {
    let mut depth = 0_usize;
    let mut brackets = 0_usize;
    for (at, byte) in code.iter().enumerate().skip(start) {
        match byte {
            b'[' | b'(' => brackets += 1,
            b']' | b')' => brackets = brackets.saturating_sub(1),
            b'{' => depth += 1,
            b'}' if depth <= 1 => return at + 1,
            b'}' => depth -= 1,
            b';' if depth == 0 && brackets == 0 => return at + 1,
            _ => {}
        }
    }
    code.len()
}

struct Blank<'a> {
    text: &'a [u8],
    out: Vec<u8>,
    at: usize,
}

impl Blank<'_> {
    fn run(&mut self) {
        while let Some(byte) = self.peek(0) {
            let word_before = self.at > 0 && is_word(self.text[self.at - 1]);
            match byte {
                b'/' if self.peek(1) == Some(b'/') => self.line_comment(),
                b'/' if self.peek(1) == Some(b'*') => self.block_comment(),
                b'"' => self.string(),
                b'r' if !word_before && self.raw_hashes(1).is_some() => self.raw_string(1),
                b'b' | b'c'
                    if !word_before
                        && self.peek(1) == Some(b'r')
                        && self.raw_hashes(2).is_some() =>
                {
                    self.raw_string(2);
                }
                b'\'' => self.character_or_lifetime(),
                _ => self.at += 1,
            }
        }
    }

    fn peek(&self, ahead: usize) -> Option<u8> {
        self.text.get(self.at + ahead).copied()
    }

    fn blank_to(&mut self, end: usize) {
        let end = end.min(self.text.len());
        for byte in &mut self.out[self.at..end] {
            if *byte != b'\n' {
                *byte = b' ';
            }
        }
        self.at = end;
    }

    fn find(&self, from: usize, needle: &[u8]) -> usize {
        self.text
            .get(from..)
            .and_then(|rest| {
                rest.windows(needle.len())
                    .position(|window| window == needle)
            })
            .map_or(self.text.len(), |found| from + found)
    }

    fn line_comment(&mut self) {
        let end = self.find(self.at, b"\n");
        self.blank_to(end);
    }

    fn block_comment(&mut self) {
        let mut depth = 0_usize;
        let mut end = self.at;
        while end < self.text.len() {
            if self.text[end..].starts_with(b"/*") {
                depth += 1;
                end += 2;
            } else if self.text[end..].starts_with(b"*/") {
                depth -= 1;
                end += 2;
                if depth == 0 {
                    break;
                }
            } else {
                end += 1;
            }
        }
        self.blank_to(end);
    }

    fn string(&mut self) {
        self.at += 1;
        let mut end = self.at;
        while end < self.text.len() && self.text[end] != b'"' {
            end += if self.text[end] == b'\\' { 2 } else { 1 };
        }
        self.blank_to(end);
        self.at = (self.at + 1).min(self.text.len());
    }

    /// How many `#` stand between the `r` and the quote, if this opens a raw string.
    fn raw_hashes(&self, skip: usize) -> Option<usize> {
        let mut hashes = 0;
        while self.peek(skip + hashes) == Some(b'#') {
            hashes += 1;
        }
        (self.peek(skip + hashes) == Some(b'"')).then_some(hashes)
    }

    fn raw_string(&mut self, skip: usize) {
        let hashes = self.raw_hashes(skip).unwrap_or(0);
        self.at += skip + hashes + 1;
        let mut closing = vec![b'"'];
        closing.resize(hashes + 1, b'#');
        let end = self.find(self.at, &closing);
        self.blank_to(end);
        self.at = (self.at + closing.len()).min(self.text.len());
    }

    /// `'a'` is a character, `'a` a lifetime.
    fn character_or_lifetime(&mut self) {
        if self.peek(1) == Some(b'\\') {
            let end = self.find(self.at + 3, b"'");
            self.at += 1;
            self.blank_to(end);
            self.at = (self.at + 1).min(self.text.len());
            return;
        }
        let width = match self.peek(1) {
            Some(byte) if byte >= 0xF0 => 4,
            Some(byte) if byte >= 0xE0 => 3,
            Some(byte) if byte >= 0xC0 => 2,
            _ => 1,
        };
        if self.peek(1 + width) == Some(b'\'') {
            self.at += 1;
            self.blank_to(self.at + width);
        }
        self.at += 1;
    }
}

fn is_word(byte: u8) -> bool {
    byte.is_ascii_alphanumeric() || byte == b'_'
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(code(text), expected);
    }

    #[test]
    fn blanks_what_is_not_code() {
        check("a // b\nc", "a     \nc");
        check("a /* b /* c */ d */ e", "a                   e");
        check(r#"f("x // y", z)"#, r#"f("      ", z)"#);
        check(r#"f("\"x", z)"#, r#"f("   ", z)"#);
        check(r##"f(r#"x"y"#, z)"##, r##"f(r#"   "#, z)"##);
        check("f(br\"x\\\", z)", "f(br\"  \", z)");
        check("f('\"', '\\'', 'a, b)", "f(' ', '  ', 'a, b)");
        check("let 'ü' = x<'a>;", "let '  ' = x<'a>;");
        check("for\"x\"", "for\" \"");
    }

    #[test]
    fn blanks_tests() {
        let text = "fn a() {}\n#[cfg(test)]\nmod tests { fn b() { c([1; 2]); } }\nfn d() {}";
        let kept = without_tests(text);
        assert!(kept.contains("fn a") && kept.contains("fn d"), "{kept}");
        assert!(!kept.contains("fn b"), "{kept}");
        assert_eq!(kept.lines().count(), text.lines().count());
        let file = without_tests("#[cfg(test)]\nmod tests;\nfn a() {}");
        assert!(file.contains("fn a"), "{file}");
    }
}
