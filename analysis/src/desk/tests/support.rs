//! A desk that is served to a test, and requests to it.

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::super::server::{Bound, Left, Opening};
use super::super::work::Runner;

/// A closed room with one person, that runs in no time.
pub const ROOM: &str = include_str!("../../../../tests/support/closed-room.toml");

pub fn reads(path: &Path, _: u64) -> Result<Vec<u8>, String> {
    std::fs::read(path).map_err(|error| error.to_string())
}

/// The shipped scenarios: name and text.
pub fn shipped() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios");
    let mut list = Vec::new();
    for entry in std::fs::read_dir(folder).expect("the scenarios") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            list.push((name, std::fs::read_to_string(&path).expect("text")));
        }
    }
    list.sort();
    assert!(list.len() >= 8, "the scenarios are not there");
    list
}

/// A desk that is served.
pub struct Served {
    pub folder: tempfile::TempDir,
    pub port: u16,
    pub token: String,
    stop: &'static AtomicBool,
    thread: Option<JoinHandle<Result<Left, String>>>,
}

/// An answer.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.body))
    }
}

impl Served {
    pub fn room() -> Self {
        Self::with(ROOM, Runner::default())
    }

    pub fn with(text: &str, runner: Runner) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let file: PathBuf = folder.path().join("room.toml");
        std::fs::write(&file, text).expect("written");
        let opening = Opening {
            file: Some(file),
            port: 0,
            reads,
        };
        let bound = Bound::with(&opening, runner).expect("a desk");
        let address = bound.address();
        let mut parts = address.trim_start_matches("http://127.0.0.1:").split('/');
        let port = parts.next().expect("a port").parse().expect("a port");
        let token = parts.next().expect("a token").to_owned();
        let stop: &'static AtomicBool = Box::leak(Box::new(AtomicBool::new(false)));
        let thread = std::thread::spawn(move || bound.serve(stop));
        Self {
            folder,
            port,
            token,
            stop,
            thread: Some(thread),
        }
    }

    /// Ends the desk as Ctrl-C does.
    pub fn end(mut self) -> (Left, tempfile::TempDir) {
        self.stop.store(true, Ordering::SeqCst);
        let left = self
            .thread
            .take()
            .expect("served")
            .join()
            .expect("no panic")
            .expect("served");
        (
            left,
            std::mem::replace(&mut self.folder, tempfile::tempdir().expect("a folder")),
        )
    }

    /// Sends bytes, gives what comes back.
    pub fn raw(&self, request: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("connected");
        stream
            .set_read_timeout(Some(Duration::from_secs(60)))
            .expect("a timeout");
        // Of a body that is too large the rest is not read, and the connection may be closed meanwhile.
        let _sent = stream.write_all(request);
        let mut bytes = Vec::new();
        let _read = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split_whitespace().nth(1).and_then(|status| status.parse().ok());
        Answer {
            status: status.unwrap_or(0),
            head: head.to_lowercase(),
            body: body.to_owned(),
        }
    }

    /// A request with these headers beside its length.
    pub fn request(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut request = format!("{method} {path} HTTP/1.1\r\nconnection: close\r\n");
        for (name, value) in headers {
            request.push_str(&format!("{name}: {value}\r\n"));
        }
        request.push_str(&format!("content-length: {}\r\n\r\n{body}", body.len()));
        self.raw(request.as_bytes())
    }

    pub fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    /// What a page gets.
    pub fn get(&self, path: &str) -> Answer {
        self.request("GET", &format!("/{}/{path}", self.token), &[("host", &self.host())], "")
    }

    /// What a page sends.
    pub fn post(&self, path: &str, body: &Value) -> Answer {
        let headers = [("host", self.host()), ("content-type", "application/json".to_owned())];
        let headers: Vec<(&str, &str)> = headers.iter().map(|(name, value)| (*name, value.as_str())).collect();
        self.request(
            "POST",
            &format!("/{}/api/{path}", self.token),
            &headers,
            &body.to_string(),
        )
    }

    /// What a page sends for an action.
    pub fn change(&self, action: &Value) -> Answer {
        self.post("do", &json!({ "action": action }))
    }

    /// Does an action and gives the state after it.
    pub fn act(&self, action: &Value) -> Value {
        let answer = self.change(action);
        assert_eq!(answer.status, 200, "{action}: {}", answer.body);
        answer.json()["state"].take()
    }

    pub fn state(&self) -> Value {
        self.get("api/state").json()
    }

    /// The results, once they are as asked for.
    pub fn results(&self, ready: impl Fn(&Value) -> bool) -> Value {
        let began = Instant::now();
        loop {
            let results = self.get("api/results").json();
            if ready(&results) {
                return results;
            }
            assert!(began.elapsed() < Duration::from_secs(60), "never ready: {results:#}");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// The names in the folder.
    pub fn names(&self) -> Vec<String> {
        names(self.folder.path())
    }
}

pub fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).expect("a folder");
    let mut names: Vec<String> = entries
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

impl Drop for Served {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::SeqCst);
    }
}

/// All figures of results, as HTML.
pub fn figures(results: &Value) -> String {
    let list = results["figures"].as_array().expect("figures").iter();
    list.map(|figure| figure["html"].as_str().expect("HTML")).collect()
}

/// The field of a state by its path.
pub fn field<'s>(state: &'s Value, path: &str) -> &'s Value {
    let parts = state["parts"].as_array().expect("parts").iter();
    let mut fields = parts.flat_map(|part| part["fields"].as_array().expect("fields"));
    fields
        .find(|field| field["path"] == path)
        .unwrap_or_else(|| panic!("no {path}"))
}
