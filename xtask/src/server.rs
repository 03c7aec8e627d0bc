//! A static file server for one folder on this machine, enough of HTTP/1.1 (RFC 9112) for a
//! browser, with the packed copies that lie beside files (RFC 9110, section 12.5.3). Used by `cargo xtask serve` and, from the same file, by the browser tests.

use std::fs;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// A request that was answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Seen {
    pub(crate) method: String,
    pub(crate) path: String,
    pub(crate) status: u16,
}

/// Serves until it is dropped.
#[derive(Debug)]
pub(crate) struct Server {
    address: SocketAddr,
    stopping: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

/// No request of a browser for a static page is longer.
const LONGEST_HEAD: u64 = 16 * 1024;

/// A connection that says nothing for so long is closed.
const PATIENCE: Duration = Duration::from_secs(5);

impl Server {
    /// Serves `folder` on 127.0.0.1; port 0 takes a free one. `tell` hears of each request.
    ///
    /// # Errors
    /// When the port cannot be had.
    pub(crate) fn start(
        folder: &Path,
        port: u16,
        tell: impl Fn(&Seen) + Send + Sync + 'static,
    ) -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))?;
        let address = listener.local_addr()?;
        let stopping = Arc::new(AtomicBool::new(false));
        let stop = Arc::clone(&stopping);
        let folder: Arc<Path> = Arc::from(folder);
        let tell = Arc::new(tell);
        let thread = thread::spawn(move || {
            for connection in listener.incoming() {
                if stop.load(Ordering::SeqCst) {
                    break;
                }
                let Ok(connection) = connection else { continue };
                let folder = Arc::clone(&folder);
                let tell = Arc::clone(&tell);
                thread::spawn(move || {
                    // A browser may hang up in the middle; that is its right.
                    if let Ok(Some(seen)) = answer(connection, &folder) {
                        tell(&seen);
                    }
                });
            }
        });
        Ok(Self {
            address,
            stopping,
            thread: Some(thread),
        })
    }

    /// The address of the page. `localhost` counts as a secure place for service workers.
    pub(crate) fn url(&self) -> String {
        format!("http://localhost:{}/", self.address.port())
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.stopping.store(true, Ordering::SeqCst);
        // Wakes the thread that waits for a connection.
        drop(TcpStream::connect(self.address));
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// Ways of packing that browsers take, the smaller first, with the endings of their copies.
const CODINGS: [(&str, &str); 2] = [("br", "br"), ("gzip", "gz")];

struct Answer {
    status: u16,
    phrase: &'static str,
    kind: &'static str,
    /// How the body is packed.
    coding: Option<&'static str>,
    body: Vec<u8>,
}

impl Answer {
    fn plain(status: u16, phrase: &'static str) -> Self {
        Self {
            status,
            phrase,
            kind: "text/plain; charset=utf-8",
            coding: None,
            body: phrase.as_bytes().to_vec(),
        }
    }
}

fn answer(mut connection: TcpStream, folder: &Path) -> io::Result<Option<Seen>> {
    connection.set_read_timeout(Some(PATIENCE))?;
    connection.set_write_timeout(Some(PATIENCE))?;
    let mut lines = BufReader::new(connection.try_clone()?.take(LONGEST_HEAD));
    let mut first = String::new();
    if lines.read_line(&mut first)? == 0 {
        return Ok(None);
    }
    // The rest of the head has to be read, or closing would reset the connection.
    let mut line = String::new();
    let mut takes = String::new();
    while lines.read_line(&mut line)? > 0 && !line.trim_end().is_empty() {
        if let Some((name, value)) = line.split_once(':')
            && name.eq_ignore_ascii_case("accept-encoding")
        {
            takes = value.to_ascii_lowercase();
        }
        line.clear();
    }
    let mut words = first.split_ascii_whitespace();
    let method = words.next().unwrap_or("").to_owned();
    let target = words.next().unwrap_or("").to_owned();
    let answer = respond(&method, &target, &takes, folder);
    let coding = answer.coding.map_or_else(String::new, |coding| {
        format!("Content-Encoding: {coding}\r\n")
    });
    let head = format!(
        "HTTP/1.1 {} {}\r\nContent-Type: {}\r\n{coding}Vary: Accept-Encoding\r\n\
         Content-Length: {}\r\nCache-Control: {}\r\n\
         X-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\n",
        answer.status,
        answer.phrase,
        answer.kind,
        answer.body.len(),
        keeping(&target, answer.status),
    );
    connection.write_all(head.as_bytes())?;
    if method != "HEAD" {
        connection.write_all(&answer.body)?;
    }
    connection.flush()?;
    Ok(Some(Seen {
        method,
        path: target,
        status: answer.status,
    }))
}

fn respond(method: &str, target: &str, takes: &str, folder: &Path) -> Answer {
    if method != "GET" && method != "HEAD" {
        return Answer::plain(405, "Method Not Allowed");
    }
    let Some(inside) = inside(target) else {
        return Answer::plain(400, "Bad Request");
    };
    let file = folder.join(&inside);
    let packed = CODINGS
        .iter()
        .filter(|(coding, _)| is_taken(coding, takes))
        .find_map(|&(coding, ending)| {
            let mut copy = file.clone().into_os_string();
            copy.push(".");
            copy.push(ending);
            Some((fs::read(copy).ok()?, Some(coding)))
        });
    // A copy whose file is gone is nobody's.
    let found = packed.filter(|_| file.is_file());
    match found.map_or_else(|| fs::read(&file).map(|body| (body, None)), Ok) {
        Ok((body, coding)) => Answer {
            status: 200,
            phrase: "OK",
            kind: kind(&inside),
            coding,
            body,
        },
        Err(_) => Answer::plain(404, "Not Found"),
    }
}

/// Whether an `Accept-Encoding` in small letters takes this coding: it is named, and not with a
/// weight of nothing.
fn is_taken(coding: &str, takes: &str) -> bool {
    takes.split(',').any(|one| {
        let (name, weight) = one.split_once(';').unwrap_or((one, "q=1"));
        let weight = weight.trim().strip_prefix("q=").map(str::parse::<f32>);
        name.trim() == coding && matches!(weight, Some(Ok(weight)) if weight > 0.0)
    })
}

/// How long an answer may be kept. A name with the hash of what is in it never means anything else,
/// so that the service worker has from the browser what the page has just loaded.
fn keeping(target: &str, status: u16) -> &'static str {
    let path = target.split(['?', '#']).next().unwrap_or("");
    let name = path.rsplit('/').next().unwrap_or("");
    let is_hash = |part: &str| part.len() == 12 && part.bytes().all(|b| b.is_ascii_hexdigit());
    if status == 200 && name.split('.').any(is_hash) {
        "public, max-age=31536000, immutable"
    } else {
        "no-store"
    }
}

/// The file a request means; nothing outside the folder can be meant.
fn inside(target: &str) -> Option<PathBuf> {
    let path = target.split(['?', '#']).next()?.strip_prefix('/')?;
    let path = percent_decoded(path)?;
    let mut inside = PathBuf::new();
    for part in path.split('/') {
        let odd = part == ".." || part.contains(['\\', ':', '\0']);
        if odd {
            return None;
        }
        inside.push(part);
    }
    if path.is_empty() || path.ends_with('/') {
        inside.push("index.html");
    }
    Some(inside)
}

fn percent_decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((&byte, after)) = rest.split_first() {
        if byte == b'%' {
            let digits = std::str::from_utf8(after.get(..2)?).ok()?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(byte);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

fn kind(path: &Path) -> &'static str {
    match path.extension().and_then(|extension| extension.to_str()) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("json") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("woff2") => "font/woff2",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;

    #[track_caller]
    fn check(target: &str, expected: Option<&str>) {
        assert_eq!(inside(target), expected.map(PathBuf::from), "{target}");
    }

    #[test]
    fn only_what_is_inside_can_be_meant() {
        check("/", Some("index.html"));
        check("/?a=b", Some("index.html"));
        check("/app/a%20b.js", Some("app/a b.js"));
        check("/../secret", None);
        check("/a/%2e%2e/%2e%2e/secret", None);
        check("/a\\..\\secret", None);
        check("/c:/secret", None);
        check("/%00", None);
        check("/%zz", None);
        check("relative", None);
    }

    fn asked(port: u16, line: &str, takes: &str) -> io::Result<String> {
        let mut connection = TcpStream::connect((Ipv4Addr::LOCALHOST, port))?;
        write!(
            connection,
            "{line} HTTP/1.1\r\nHost: localhost\r\n{takes}\r\n"
        )?;
        let mut text = String::new();
        connection.read_to_string(&mut text)?;
        Ok(text)
    }

    fn ask(port: u16, line: &str) -> io::Result<String> {
        asked(port, line, "")
    }

    #[test]
    fn what_is_taken_packed_is_sent_packed() {
        let folder = std::env::temp_dir().join(format!("samespot-packed-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let name = "a.0123456789ab.js";
        for (ending, body) in [("", "plain"), (".br", "by br"), (".gz", "by gz")] {
            fs::write(folder.join(format!("{name}{ending}")), body).unwrap();
        }
        fs::write(folder.join("gone.js.br"), "by br").unwrap();
        let server = Server::start(&folder, 0, |_| ()).unwrap();
        let port = server.address.port();
        let line = format!("GET /{name}");
        for (takes, coding, body) in [
            ("", None, "plain"),
            ("Accept-Encoding: identity\r\n", None, "plain"),
            ("Accept-Encoding: br;q=0, gzip;q=0.0\r\n", None, "plain"),
            ("accept-encoding: GZIP\r\n", Some("gzip"), "by gz"),
            ("Accept-Encoding: br;q=0, gzip\r\n", Some("gzip"), "by gz"),
            // As Chromium asks.
            (
                "Accept-Encoding: gzip, deflate, br, zstd\r\n",
                Some("br"),
                "by br",
            ),
        ] {
            let text = asked(port, &line, takes).unwrap();
            let (head, sent) = text.split_once("\r\n\r\n").unwrap();
            assert_eq!(sent, body, "{takes}");
            let says = head
                .lines()
                .find_map(|l| l.strip_prefix("Content-Encoding: "));
            assert_eq!(says, coding, "{takes}");
            assert!(head.contains("\r\nVary: Accept-Encoding\r\n"), "{head}");
            assert!(head.contains("Content-Length: 5"), "{head}");
            assert!(head.contains("Content-Type: text/javascript"), "{head}");
        }
        let gone = asked(port, "GET /gone.js", "Accept-Encoding: br\r\n").unwrap();
        assert!(gone.starts_with("HTTP/1.1 404"), "{gone}");
        drop(server);
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn only_what_its_name_says_is_kept() {
        for (target, status, kept) in [
            ("/app/a_bg.0123456789ab.wasm", 200, true),
            ("/worker.0123456789ab.js?again=1", 200, true),
            ("/app/a_bg.0123456789ab.wasm", 404, false),
            ("/", 200, false),
            ("/?a.0123456789ab.js", 200, false),
            ("/sw.js", 200, false),
            ("/examples/quay-puffins.samespot", 200, false),
        ] {
            assert_eq!(
                keeping(target, status).contains("immutable"),
                kept,
                "{target}"
            );
        }
    }

    #[test]
    fn serves_stops_and_starts_again_on_its_port() {
        let folder = std::env::temp_dir().join(format!("samespot-server-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("a.wasm"), b"\0asm").unwrap();
        let server = Server::start(&folder, 0, |_| ()).unwrap();
        let port = server.address.port();
        let text = ask(port, "GET /a.wasm").unwrap();
        assert!(text.starts_with("HTTP/1.1 200 OK\r\n"), "{text}");
        assert!(
            text.contains("Content-Type: application/wasm\r\n"),
            "{text}"
        );
        assert!(text.ends_with("\r\n\r\n\0asm"), "{text}");
        assert!(ask(port, "HEAD /a.wasm").unwrap().ends_with("\r\n\r\n"));
        assert!(ask(port, "GET /b").unwrap().starts_with("HTTP/1.1 404"));
        assert!(
            ask(port, "POST /a.wasm")
                .unwrap()
                .starts_with("HTTP/1.1 405")
        );
        drop(server);
        assert!(ask(port, "GET /a.wasm").is_err());
        let again = Server::start(&folder, port, |_| ()).unwrap();
        assert!(
            ask(port, "GET /a.wasm")
                .unwrap()
                .starts_with("HTTP/1.1 200")
        );
        drop(again);
        fs::remove_dir_all(&folder).unwrap();
    }
}
