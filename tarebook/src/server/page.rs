//! What is on every page?
//!
//! The running head with its places, the page, the standing line at the foot.

use axum::http::header::CONTENT_TYPE;
use axum::response::{IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};

const PLACES: [(&str, &str); 4] =
    [("/", "Notebook"), ("/bench", "Bench"), ("/questions", "Questions"), ("/shelf", "Shelf")];
/// Says under every page what the figures are worth.
const FOOT: &str = "Computed for the amounts given; what else the retail product contains is not known. The supplier’s safety data sheet, local codes and licensed practice come first.";

/// A page.
pub struct Sheet {
    title: String,
    place: &'static str,
    preparation: Option<String>,
    revision: Option<String>,
    quick: bool,
    bare: bool,
    body: Markup,
}

impl Sheet {
    /// A page of this title in one of the places of the head.
    pub fn new(title: impl Into<String>, place: &'static str) -> Self {
        Self {
            title: title.into(),
            place,
            preparation: None,
            revision: None,
            quick: false,
            bare: false,
            body: html! {},
        }
    }

    /// A page that follows a preparation as it changes.
    pub fn of(mut self, name: &str) -> Self {
        self.preparation = Some(name.to_owned());
        self
    }

    /// Shows this text of the preparation: what is only told better of the same text is no change.
    pub fn at(mut self, revision: &str) -> Self {
        self.revision = Some(revision.to_owned());
        self
    }

    /// Whether more will be told of the text soon: a page that was still being loaded then asks once more.
    pub fn quick(mut self, quick: bool) -> Self {
        self.quick = quick;
        self
    }

    /// Without head and foot: for the bench.
    pub fn bare(mut self) -> Self {
        self.bare = true;
        self
    }

    /// With this inside.
    pub fn with(mut self, body: Markup) -> Self {
        self.body = body;
        self
    }

    fn markup(&self) -> Markup {
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title { (self.title) " · Tarebook" }
                    link rel="icon" href="/favicon.ico";
                    link rel="stylesheet" href="/assets/tokens.css";
                    link rel="stylesheet" href="/assets/page.css";
                    link rel="stylesheet" href="/assets/more.css";
                    script src="/assets/theme.js" {}
                    script src="/assets/page.js" defer {}
                    @if self.bare { script src="/assets/bench.js" defer {} }
                }
                body data-preparation=[self.preparation.as_deref()] {
                    a.skip href="#main" { "Skip to the page" }
                    @if self.bare {
                        main id="main" .bench data-revision=[self.revision.as_deref()] { (self.body) }
                    } @else {
                        header.head {
                            a.mark href="/" { "Tarebook" }
                            nav aria-label="Pages" {
                                @for (address, name) in PLACES {
                                    a href=(address) aria-current=[(address == self.place).then_some("page")] { (name) }
                                }
                            }
                            button.quiet.where #theme type="button" hidden { "dark" }
                        }
                        hr.double;
                        main id="main" data-revision=[self.revision.as_deref()] data-quick[self.quick] { (self.body) }
                        footer.foot { p.fine { (FOOT) } }
                    }
                }
            }
        }
    }
}

impl IntoResponse for Sheet {
    fn into_response(self) -> Response {
        ([(CONTENT_TYPE, "text/html; charset=utf-8")], self.markup().into_string()).into_response()
    }
}

/// A text as part of an address.
pub fn address(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_' | b'.' | b'~') {
            out.push(char::from(byte));
        } else {
            out += &format!("%{byte:02X}");
        }
    }
    out
}

/// A date and time as people write it: "3 May, 17:05".
pub fn when(text: &str) -> String {
    let text = text.get(..19).unwrap_or(text);
    match text.parse::<jiff::civil::DateTime>() {
        Ok(time) => time.strftime("%-d %B, %H:%M").to_string(),
        Err(_) => text.to_owned(),
    }
}
