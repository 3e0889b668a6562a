//! What the server lets through, what it refuses, and what it leaves.

use std::fs;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::support::{ROOM, Served, field, names};

const VOLUME: &str = "compartments.room.free_volume";

#[test]
fn the_page_and_its_parts_come_with_headers_that_close_it() {
    let desk = Served::room();
    for (part, kind) in [
        ("", "text/html"),
        ("desk.css", "text/css"),
        ("desk.js", "text/javascript"),
        ("ask.js", "text/javascript"),
        ("forms.js", "text/javascript"),
        ("results.js", "text/javascript"),
        ("curves.js", "text/javascript"),
        ("api/state", "application/json"),
        ("api/results", "application/json"),
    ] {
        let answer = desk.get(part);
        assert_eq!(answer.status, 200, "{part}");
        assert!(
            answer.head.contains(&format!("content-type: {kind}")),
            "{part}: {}",
            answer.head
        );
        for header in [
            "content-security-policy: default-src 'none';",
            "frame-ancestors 'none'",
            "x-content-type-options: nosniff",
            "referrer-policy: no-referrer",
            "cache-control: no-store",
        ] {
            assert!(answer.head.contains(header), "{part}: no {header}");
        }
        assert!(!answer.body.is_empty() && !answer.body.contains(&desk.token), "{part}");
    }
    // Nothing is asked of anyone else, and no script or style stands in the page itself.
    for part in [
        "",
        "desk.css",
        "desk.js",
        "ask.js",
        "forms.js",
        "results.js",
        "curves.js",
    ] {
        let body = desk.get(part).body;
        assert!(
            !body.contains("http://") && !body.contains("https://") && !body.contains("<style"),
            "{part}"
        );
    }
}

#[test]
fn without_the_token_nothing_is_there() {
    let desk = Served::room();
    let other = "0".repeat(32);
    let shorter = &desk.token[..31];
    for path in [
        "/".to_owned(),
        "/favicon.ico".to_owned(),
        format!("/{other}/"),
        format!("/{other}/api/state"),
        format!("/{shorter}/"),
        format!("/{}x/", desk.token),
        "/api/state".to_owned(),
        format!("/{}/../{}/", desk.token, other),
        format!("/{}/api/none", desk.token),
        format!("/{}/..%2f..%2fetc%2fpasswd", desk.token),
        format!("/{}//api/state", desk.token),
    ] {
        let answer = desk.request("GET", &path, &[("host", &desk.host())], "");
        assert_eq!((answer.status, answer.body.as_str()), (404, ""), "{path}");
    }
    let wrong = desk.request("POST", &format!("/{other}/api/do"), &[("host", &desk.host())], "{}");
    assert_eq!((wrong.status, wrong.body.as_str()), (404, ""));
    for (method, path) in [
        ("POST", "api/state"),
        ("GET", "api/do"),
        ("DELETE", ""),
        ("PUT", "api/save"),
    ] {
        let answer = desk.request(
            method,
            &format!("/{}/{path}", desk.token),
            &[("host", &desk.host())],
            "",
        );
        assert_eq!(answer.status, 405, "{method} {path}");
    }
}

#[test]
fn another_name_and_another_page_are_refused() {
    let desk = Served::room();
    let path = format!("/{}/api/state", desk.token);
    for host in ["evil.example", "evil.example:80", "127.0.0.1", ""] {
        let answer = desk.request("GET", &path, &[("host", host)], "");
        assert!(
            answer.status == 403 || answer.status == 400,
            "{host}: {}",
            answer.status
        );
        assert!(!answer.body.contains("variants"), "{host}");
    }
    let none = desk.raw(format!("GET {path} HTTP/1.1\r\nconnection: close\r\n\r\n").as_bytes());
    assert!(none.status == 403 || none.status == 400, "{}", none.status);
    let host = desk.host();
    for origin in ["http://evil.example", "null", "https://127.0.0.1"] {
        let answer = desk.request("GET", &path, &[("host", &host), ("origin", origin)], "");
        assert_eq!((answer.status, answer.body.as_str()), (403, ""), "{origin}");
    }
    let own = format!("http://{host}");
    assert_eq!(
        desk.request("GET", &path, &[("host", &host), ("origin", &own)], "")
            .status,
        200
    );
}

#[test]
fn what_cannot_be_read_is_refused_and_changes_nothing() {
    let desk = Served::room();
    let before = desk.state();
    let (host, path) = (desk.host(), format!("/{}/api/do", desk.token));
    let json_headers = [("host", host.as_str()), ("content-type", "application/json")];
    for body in [
        "",
        "{",
        "[]",
        "null",
        "{\"action\":{\"do\":\"explode\"}}",
        "{\"action\":{\"do\":\"undo\"}}",
        "{\"action\":{\"do\":\"undo\",\"variant\":\"C\"}}",
        "{\"action\":{\"do\":\"edit\",\"variant\":\"A\",\"path\":7,\"text\":\"x\"}}",
        "{\"action\":{\"do\":\"slide\",\"variant\":\"A\",\"path\":\"x\",\"value\":\"NaN\",\"gesture\":\"g\"}}",
        "{\"action\":{\"do\":\"runs\",\"runs\":-1}}",
        "{\"do\":\"copy\"}",
        "{\"action\":{\"do\":\"copy\"},\"in_view\":\"co2\"}",
    ] {
        let answer = desk.request("POST", &path, &json_headers, body);
        assert!((400..423).contains(&answer.status), "{body}: {}", answer.status);
        assert!(answer.json()["error"].is_string(), "{body}");
    }
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    assert_eq!(desk.request("POST", &path, &json_headers, &deep).status, 400);
    let form = [("host", host.as_str()), ("content-type", "text/plain")];
    assert_eq!(
        desk.request("POST", &path, &form, "{\"action\":{\"do\":\"copy\"}}")
            .status,
        415
    );
    let huge = "x".repeat((1 << 20) + 1);
    assert_eq!(desk.request("POST", &path, &json_headers, &huge).status, 413);
    for (action, status) in [
        (
            json!({ "do": "edit", "variant": "A", "path": "no.such", "text": "1" }),
            409,
        ),
        (json!({ "do": "undo", "variant": "A" }), 422),
        (json!({ "do": "undo", "variant": "B" }), 409),
        (json!({ "do": "runs", "runs": 59 }), 422),
        (json!({ "do": "runs", "runs": 2001 }), 422),
        (json!({ "do": "promote" }), 409),
        (
            json!({ "do": "add", "variant": "A", "part": "air", "name": "evil" }),
            409,
        ),
        (
            json!({ "do": "add-table", "variant": "A", "group": "nope", "name": "x" }),
            409,
        ),
    ] {
        let answer = desk.change(&action);
        assert_eq!(answer.status, status, "{action}: {}", answer.body);
    }
    for query in ["api/wait", "api/wait?seen=", "api/wait?seen=x", "api/wait?seen=-1"] {
        assert_eq!(desk.get(query).status, 400, "{query}");
    }
    let after = desk.state();
    assert_eq!((&before["forms"], &before["parts"]), (&after["forms"], &after["parts"]));
}

#[test]
fn saving_goes_to_plain_names_of_the_folder_and_over_nothing_unasked() {
    let desk = Served::room();
    let save =
        |name: &str, over: Option<&str>| desk.post("save", &json!({ "variant": "A", "name": name, "over": over }));
    for name in [
        "../a.toml",
        "/tmp/a.toml",
        "a/b.toml",
        "a",
        "a.txt",
        "",
        "..",
        ".toml",
        "a\\b.toml",
        "a\u{0}.toml",
        ".hidden.toml",
    ] {
        let answer = save(name, None);
        assert_eq!(answer.status, 422, "{name:?}: {}", answer.body);
    }
    assert_eq!(desk.names(), ["room.toml"]);
    desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "31 m3" }));
    let asked = save("room.toml", None);
    assert_eq!(asked.status, 409);
    assert_eq!(asked.json()["question"], "`room.toml` is already there. Replace it?");
    let digest = asked.json()["digest"].as_str().expect("a digest").to_owned();
    assert_eq!(
        fs::read_to_string(desk.folder.path().join("room.toml")).expect("read"),
        ROOM
    );
    // Someone else writes it meanwhile.
    fs::write(desk.folder.path().join("room.toml"), "theirs").expect("written");
    let changed = save("room.toml", Some(&digest));
    assert_eq!(changed.status, 409);
    assert!(
        changed.json()["question"]
            .as_str()
            .expect("a question")
            .contains("changed by someone else")
    );
    assert_eq!(
        fs::read_to_string(desk.folder.path().join("room.toml")).expect("read"),
        "theirs"
    );
    assert_eq!(save("other.toml", None).status, 200);
    let saved = fs::read_to_string(desk.folder.path().join("other.toml")).expect("read");
    let old = ROOM
        .lines()
        .filter(|line| !saved.lines().any(|other| other == *line))
        .count();
    assert_eq!(
        (old, saved.lines().count()),
        (1, ROOM.lines().count()),
        "one line differs"
    );
    let state = desk.state();
    assert_eq!(
        (&state["name"], &state["variants"][0]["unsaved"]),
        (&json!("other.toml"), &json!(false))
    );
    desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "{ broken = [" }));
    assert_eq!(save("third.toml", None).status, 422, "what is no TOML is not saved");
    assert_eq!(desk.names(), ["other.toml", "room.toml"]);
}

#[test]
fn a_second_page_sees_the_same_and_is_told_of_changes() {
    let desk = Served::room();
    let seen = desk.results(|results| results["variants"][0]["current"] == true);
    assert!(seen["results"].as_u64().is_some());
    // Until the variations of the room begin and end, versions go up: wait on the newest.
    let version = desk.state()["version"].as_u64().expect("a version");
    let (port, token) = (desk.port, desk.token.clone());
    let other = std::thread::spawn(move || {
        let began = Instant::now();
        let mut version = version;
        loop {
            let told = wait(port, &token, version);
            version = told["version"].as_u64().expect("a version");
            if told["forms"].as_u64() > Some(1) {
                return began.elapsed();
            }
        }
    });
    std::thread::sleep(Duration::from_millis(100));
    desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "31 m3" }));
    let waited = other.join().expect("no panic");
    assert!(waited < Duration::from_secs(10), "{waited:?}");
    assert_eq!(field(&desk.state(), VOLUME)["cells"][0]["text"], "31 m3");
}

fn wait(port: u16, token: &str, seen: u64) -> Value {
    use std::io::{Read as _, Write as _};
    let mut stream = std::net::TcpStream::connect(("127.0.0.1", port)).expect("connected");
    let request =
        format!("GET /{token}/api/wait?seen={seen} HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\nconnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).expect("sent");
    let mut text = String::new();
    stream.read_to_string(&mut text).expect("answered");
    let (_, body) = text.split_once("\r\n\r\n").expect("an answer");
    serde_json::from_str(body).expect("JSON")
}

#[test]
fn changes_that_were_not_saved_are_written_at_the_end_and_over_nothing() {
    let desk = Served::room();
    fs::write(desk.folder.path().join("room.unsaved.toml"), "older").expect("written");
    desk.act(&json!({ "do": "copy" }));
    desk.act(&json!({ "do": "edit", "variant": "A", "path": VOLUME, "text": "31 m3" }));
    desk.act(&json!({ "do": "edit", "variant": "B", "path": VOLUME, "text": "{ normal = [" }));
    let (left, folder) = desk.end();
    assert!(left.lost.is_empty(), "{:?}", left.lost);
    assert_eq!(left.written.len(), 2);
    assert_eq!(
        names(folder.path()),
        [
            "room-b.unsaved.toml",
            "room.toml",
            "room.unsaved-2.toml",
            "room.unsaved.toml"
        ]
    );
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).expect("read");
    assert_eq!(read("room.unsaved.toml"), "older");
    assert!(read("room.unsaved-2.toml").contains("\"31 m3\""));
    assert!(read("room-b.unsaved.toml").ends_with("compartments.room.free_volume = { normal = [\n"));
    assert_eq!(read("room.toml"), ROOM);
}

#[test]
fn a_desk_without_changes_leaves_nothing() {
    let (left, folder) = Served::room().end();
    assert!(left.written.is_empty() && left.lost.is_empty());
    assert_eq!(names(folder.path()), ["room.toml"]);
}
