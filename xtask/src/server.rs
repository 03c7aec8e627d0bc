//! A static file server for one folder on this machine, enough of HTTP/1.1 (RFC 9112) for a
//! browser. Used by `cargo xtask serve` and, from the same file, by the browser tests.

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

struct Answer {
    status: u16,
    phrase: &'static str,
    kind: &'static str,
    body: Vec<u8>,
}

impl Answer {
    fn plain(status: u16, phrase: &'static str) -> Self {
        Self {
            status,
            phrase,
            kind: "text/plain; charset=utf-8",
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
    while lines.read_line(&mut line)? > 0 && !line.trim_end().is_empty() {
        line.clear();
    }
    let mut words = first.split_ascii_whitespace();
    let method = words.next().unwrap_or("").to_owned();
    let target = words.next().unwrap_or("").to_owned();
    let answer = respond(&method, &target, folder);
    let head = format!(
        "HTTP/1.1 {} {}\r\nContent-Type: {}\r\nContent-Length: {}\r\nCache-Control: no-store\r\n\
         X-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\n",
        answer.status,
        answer.phrase,
        answer.kind,
        answer.body.len()
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

fn respond(method: &str, target: &str, folder: &Path) -> Answer {
    if method != "GET" && method != "HEAD" {
        return Answer::plain(405, "Method Not Allowed");
    }
    let Some(inside) = inside(target) else {
        return Answer::plain(400, "Bad Request");
    };
    match fs::read(folder.join(&inside)) {
        Ok(body) => Answer {
            status: 200,
            phrase: "OK",
            kind: kind(&inside),
            body,
        },
        Err(_) => Answer::plain(404, "Not Found"),
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

    #[test]
    fn serves_stops_and_starts_again_on_its_port() {
        let folder = std::env::temp_dir().join(format!("samespot-server-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("a.wasm"), b"\0asm").unwrap();
        let ask = |port: u16, line: &str| -> io::Result<String> {
            let mut connection = TcpStream::connect((Ipv4Addr::LOCALHOST, port))?;
            write!(connection, "{line} HTTP/1.1\r\nHost: localhost\r\n\r\n")?;
            let mut text = String::new();
            connection.read_to_string(&mut text)?;
            Ok(text)
        };
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
