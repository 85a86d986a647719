//! Who may ask, and what may a page do?
//!
//! By default the notebook listens on this machine only. A browser there also shows pages of strangers, so every request
//! must name this machine as its host (a stranger's name that leads here is refused) and, where it changes something,
//! come from a page of the notebook itself. Pages may load nothing from elsewhere and run no script but their own files.
//! When the notebook is shared with the local network, other devices (by the address they come from, not by the name they
//! ask for) need a code that works once and then carry a cookie that no script can read. Of preparations out of bounds there
//! are no pages but that which says why, the text and its versions. Neglected: the connection is not encrypted; whoever
//! listens on that network reads along.

use super::books::Stand;
use super::page::Sheet;
use super::trouble::{Fields, Trouble};
use super::{Office, blocking};
use axum::extract::{ConnectInfo, Path, Query, Request, State};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, ORIGIN, REFERRER_POLICY, SET_COOKIE, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use maud::html;
use std::collections::{BTreeMap, BTreeSet};
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};

/// What a page may load and do.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'";
/// Name of the cookie of a paired device.
const PAIRED: &str = "tarebook-paired";
/// Wrong codes that are taken before pairing ends.
const WRONG_CODES: u32 = 10;

/// Sharing with the local network.
#[derive(Debug)]
pub struct Share {
    /// Address of this machine there.
    pub address: IpAddr,
    /// The code that pairs a device, once.
    pub code: String,
}

#[derive(Debug, Default)]
struct Pairing {
    code: Option<String>,
    wrong: u32,
    devices: BTreeSet<String>,
}

/// Who may ask.
#[derive(Debug)]
pub(super) struct Guard {
    hosts: Vec<String>,
    shared: bool,
    pairing: Mutex<Pairing>,
}

impl Guard {
    pub fn new(port: u16, share: Option<Share>) -> Self {
        let mut hosts: Vec<String> =
            ["127.0.0.1", "localhost", "[::1]"].iter().map(|host| format!("{host}:{port}")).collect();
        let shared = share.is_some();
        let mut pairing = Pairing::default();
        if let Some(share) = share {
            hosts.push(match share.address {
                IpAddr::V4(address) => format!("{address}:{port}"),
                IpAddr::V6(address) => format!("[{address}]:{port}"),
            });
            pairing.code = Some(share.code);
        }
        Self { hosts, shared, pairing: Mutex::new(pairing) }
    }

    /// The refusal of a request, if it is refused.
    fn refuses(&self, method: &Method, headers: &HeaderMap) -> Option<&'static str> {
        let text = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
        let host = text(HOST).unwrap_or_default();
        if !self.hosts.iter().any(|known| known == host) {
            return Some("This notebook answers to its own address only.");
        }
        if let Some(origin) = text(ORIGIN)
            && origin.strip_prefix("http://") != Some(host)
        {
            return Some("A page of another place asked for this.");
        }
        let site = text(HeaderName::from_static("sec-fetch-site"));
        let own = matches!(site, None | Some("same-origin" | "none"));
        if !matches!(*method, Method::GET | Method::HEAD) && !own {
            return Some("Only a page of the notebook may change it.");
        }
        None
    }

    /// Whether the device may see pages: it is this machine, or it was paired.
    fn knows(&self, from: Option<IpAddr>, headers: &HeaderMap) -> bool {
        // Anybody can ask for any name; where the connection comes from cannot be made up.
        let here = from.is_some_and(|from| from.to_canonical().is_loopback());
        if !self.shared || (here && !headers.contains_key("x-forwarded-for")) {
            return true;
        }
        let cookies = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
        let tokens = cookies.flat_map(|line| line.split(';')).filter_map(|part| part.trim().split_once('='));
        let pairing = self.pairing.lock().unwrap_or_else(PoisonError::into_inner);
        tokens.into_iter().any(|(name, token)| name == PAIRED && pairing.devices.contains(token))
    }

    /// Pairs a device by the code, once; gives its token.
    fn pair(&self, code: &str) -> Result<String, &'static str> {
        let mut pairing = self.pairing.lock().unwrap_or_else(PoisonError::into_inner);
        if pairing.wrong >= WRONG_CODES {
            return Err("Too many wrong codes. Start the notebook again for a new one.");
        }
        let digits = |text: &str| text.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_uppercase();
        // Hashes are compared in the same time wherever they differ.
        let right = pairing
            .code
            .as_ref()
            .is_some_and(|c| blake3::hash(digits(c).as_bytes()) == blake3::hash(digits(code).as_bytes()));
        if !right {
            pairing.wrong += 1;
            return Err("This is not the code that stands in the terminal, or it was used before.");
        }
        pairing.code = None;
        let token = secret().map_err(|_| "No random number was to be had.")?;
        pairing.devices.insert(token.clone());
        Ok(token)
    }
}

/// A name that cannot be guessed: random bytes of the system, hashed.
fn secret() -> std::io::Result<String> {
    let mut bytes = [0_u8; 32];
    let mut source = std::fs::File::open("/dev/urandom")?;
    std::io::Read::read_exact(&mut source, &mut bytes)?;
    Ok(blake3::hash(&bytes).to_hex().to_string())
}

/// A code of eight letters and digits for pairing.
///
/// # Errors
/// If the system gives no random numbers.
pub fn code() -> std::io::Result<String> {
    let letters = b"ABCDEFGHJKMNPQRSTUVWXYZ23456789";
    let text: String = secret()?
        .as_bytes()
        .chunks(4)
        .take(8)
        .map(|four| {
            let sum = four.iter().fold(0_usize, |sum, byte| sum * 31 + usize::from(*byte));
            char::from(letters[sum % letters.len()])
        })
        .collect();
    Ok(format!("{}-{}", &text[..4], &text[4..]))
}

/// Lets a request in or turns it away, and says what the answer may do.
pub(super) async fn admit(State(office): State<Arc<Office>>, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    let open = path == "/pair" || path.starts_with("/assets/") || path == "/favicon.ico";
    let lasting = path.starts_with("/assets/");
    let from = request.extensions().get::<ConnectInfo<SocketAddr>>().map(|ConnectInfo(from)| from.ip());
    let mut response = if let Some(why) = office.guard.refuses(request.method(), request.headers()) {
        Trouble::forbidden(why).into_response()
    } else if !open && !office.guard.knows(from, request.headers()) {
        // What was to be written must not look written to the page that sent it.
        if matches!(*request.method(), Method::GET | Method::HEAD) {
            Redirect::to("/pair").into_response()
        } else {
            Trouble::unpaired().into_response()
        }
    } else {
        next.run(request).await
    };
    let headers = response.headers_mut();
    let all = [
        (CONTENT_SECURITY_POLICY, POLICY),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in all {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if !lasting {
        headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    response
}

/// Asks for the code.
pub(super) async fn ask(Query(given): Query<Vec<(String, String)>>) -> Sheet {
    pairing_page(Fields(given).get("code").unwrap_or_default(), None)
}

fn pairing_page(code: &str, wrong: Option<&str>) -> Sheet {
    Sheet::new("Pair this device", "").with(html! {
        h1 { "Pair this device" }
        p.say { "A paired device reads everything in this notebook and writes in it as its own desk does; devices that are not paired see this page only. The connection is not encrypted: whoever listens on this network can read along." }
        p.say { "The code stands in the terminal where the notebook was started and works once, for one device. Sharing ends for every device when the notebook is stopped there (Ctrl and C); started again without --share it answers to its own machine only." }
        form.find method="post" action="/pair" {
            span.fl { label for="code" { "code" } input id="code" name="code" value=(code) autocomplete="off" required aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "code-wrong")]; }
            button { "Pair" }
        }
        @if let Some(why) = wrong { p.err id="code-wrong" role="alert" { b { "Not paired." } " " (why) } }
    })
}

/// Takes the code.
pub(super) async fn pair(State(office): State<Arc<Office>>, fields: Fields) -> Response {
    match office.guard.pair(fields.get("code").unwrap_or_default()) {
        Ok(token) => {
            let cookie = format!("{PAIRED}={token}; Path=/; HttpOnly; SameSite=Strict; Max-Age=2592000");
            ([(SET_COOKIE, cookie)], Redirect::to("/")).into_response()
        }
        Err(why) => (StatusCode::FORBIDDEN, pairing_page("", Some(why))).into_response(),
    }
}

/// Lets only preparations within bounds through: every other gets the page that says why not.
pub(super) async fn within_bounds(
    State(office): State<Arc<Office>>,
    Path(parts): Path<BTreeMap<String, String>>,
    request: Request,
    next: Next,
) -> Result<Response, Trouble> {
    let name = parts.get("name").cloned().unwrap_or_default();
    let place = office.clone();
    blocking(move || {
        let page = place.notebook.read(&name)?;
        // Known books tell at once; an entry does not wait for a plan.
        let file = || format!("/p/{}/file", super::page::address(&name));
        if let Some(books) = place.books.found(&name, &page.revision) {
            let refused = books.state() == Stand::Refused;
            return if refused { Err(Trouble::refused(&books.findings).of_file(file())) } else { Ok(()) };
        }
        super::form::bounded(&page.text).map_err(|refused| refused.of_file(file()))
    })
    .await?;
    Ok(next.run(request).await)
}
