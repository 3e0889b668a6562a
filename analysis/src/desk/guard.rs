//! Who may ask, and what a browser may do with an answer.
//!
//! The page is for this machine's user alone: only with the token of its address, only under its own name (a foreign `Host` is
//! another site's name that was made to lead here), and never for another site's script (a foreign `Origin`).

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};

/// The names under which the desk may be asked.
pub(super) struct Names {
    hosts: Vec<String>,
    origins: Vec<String>,
}

impl Names {
    /// Those of a port of this machine.
    pub fn of(port: u16) -> Arc<Self> {
        let hosts = ["127.0.0.1", "localhost"].map(|host| format!("{host}:{port}"));
        Arc::new(Self {
            origins: hosts.iter().map(|host| format!("http://{host}")).collect(),
            hosts: hosts.to_vec(),
        })
    }

    fn allow(&self, headers: &HeaderMap) -> bool {
        let one_of = |name: header::HeaderName, known: &[String]| {
            let mut values = headers.get_all(name).iter();
            values.all(|value| known.iter().any(|known| known.as_bytes() == value.as_bytes()))
        };
        headers.contains_key(header::HOST) && one_of(header::HOST, &self.hosts) && one_of(header::ORIGIN, &self.origins)
    }
}

/// What every answer carries.
const HEADERS: [(&str, &str); 6] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cache-control", "no-store"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
];

/// Lets through who may ask, and marks every answer.
pub(super) async fn guard(State(names): State<Arc<Names>>, request: Request, next: Next) -> Response {
    let mut response = if names.allow(request.headers()) {
        next.run(request).await
    } else {
        StatusCode::FORBIDDEN.into_response()
    };
    for (name, value) in HEADERS {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}

/// A new token: 128 bits from the operating system.
///
/// # Errors
/// If it has none.
pub(super) fn token() -> Result<String, String> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| format!("cannot get a random number for the address: {error}"))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_own_name_may_be_asked_for_and_only_from_the_own_page() {
        let names = Names::of(4321);
        let allows = |host: Option<&str>, origin: Option<&str>| {
            let mut headers = HeaderMap::new();
            let value = |text: &str| HeaderValue::from_str(text).expect("a value");
            if let Some(host) = host {
                headers.insert(header::HOST, value(host));
            }
            if let Some(origin) = origin {
                headers.insert(header::ORIGIN, value(origin));
            }
            names.allow(&headers)
        };
        assert!(allows(Some("127.0.0.1:4321"), None));
        assert!(allows(Some("localhost:4321"), Some("http://localhost:4321")));
        for host in [
            None,
            Some("127.0.0.1"),
            Some("127.0.0.1:80"),
            Some("evil.example:4321"),
            Some("127.0.0.1:4321.evil"),
        ] {
            assert!(!allows(host, None), "{host:?}");
        }
        for origin in [
            "null",
            "http://evil.example",
            "https://127.0.0.1:4321",
            "http://127.0.0.1:1",
        ] {
            assert!(!allows(Some("127.0.0.1:4321"), Some(origin)), "{origin}");
        }
    }

    #[test]
    fn tokens_are_long_and_differ() {
        let (a, b) = (token().expect("a token"), token().expect("a token"));
        assert!(a.len() == 32 && a.bytes().all(|byte| byte.is_ascii_hexdigit()));
        assert_ne!(a, b);
    }
}
