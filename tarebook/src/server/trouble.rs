//! What does a page say when something does not work?
//!
//! What is kept first, then what to do. The status tells machines the same.

use super::page::Sheet;
use crate::notebook::NotebookError;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::{Form, RequestExt};
use maud::{Markup, html};
use prep::outcome::Finding;
use report::document::full_sentence;
use report::html::formula::rich;

/// Something that did not work.
#[derive(Debug)]
pub struct Trouble {
    status: StatusCode,
    what: String,
    refused: Vec<Finding>,
    file: Option<String>,
}

impl Trouble {
    fn new(status: StatusCode, what: impl Into<String>) -> Self {
        Self { status, what: what.into(), refused: Vec::new(), file: None }
    }

    /// Out of bounds: nothing is computed, and the page says why.
    pub fn refused(findings: &[Finding]) -> Self {
        let refused = refusals(findings).cloned().collect();
        Self { refused, ..Self::new(StatusCode::FORBIDDEN, "") }
    }

    /// With the address of the file that it is about.
    pub fn of_file(self, address: String) -> Self {
        Self { file: Some(address), ..self }
    }

    /// Asked in a way that cannot be answered.
    pub fn asked(what: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, what)
    }

    /// More than is taken at once.
    pub fn too_large() -> Self {
        let most = super::LARGEST_BODY / 1_000_000;
        Self::new(StatusCode::PAYLOAD_TOO_LARGE, format!("That is more than is taken at once, which is {most} MB."))
    }

    /// Not here.
    pub fn missing(what: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, what)
    }

    /// Not allowed.
    pub fn forbidden(what: impl Into<String>) -> Self {
        Self::new(StatusCode::FORBIDDEN, what)
    }

    /// From a device that is not paired.
    pub fn unpaired() -> Self {
        Self::new(
            StatusCode::UNAUTHORIZED,
            "This device is not paired with the notebook, or the notebook was started anew.",
        )
    }

    /// The program failed.
    pub fn failed(what: impl Into<String>) -> Self {
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, what)
    }
}

impl From<NotebookError> for Trouble {
    fn from(error: NotebookError) -> Self {
        let what = full_sentence(&error.to_string());
        match error {
            NotebookError::BadName(_) | NotebookError::Refused(_) => Self::asked(what),
            NotebookError::Missing(_) => Self::missing(what),
            NotebookError::Taken(_) => Self::new(StatusCode::CONFLICT, what),
            NotebookError::File(..) | NotebookError::History(_) => Self::failed(what),
        }
    }
}

/// A finding in sentences: what is wrong, then what would be right.
pub fn said(finding: &Finding) -> String {
    let hints = finding.hints.iter().map(|hint| full_sentence(hint));
    std::iter::once(full_sentence(&finding.message)).chain(hints).collect::<Vec<_>>().join(" ")
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        if !self.refused.is_empty() {
            return (self.status, Sheet::new("Refused", "").with(refusal_page(&self.refused, self.file.as_deref())))
                .into_response();
        }
        let title = match self.status {
            StatusCode::NOT_FOUND => "Not here",
            StatusCode::FORBIDDEN => "Not from there",
            StatusCode::UNAUTHORIZED => "Not paired",
            StatusCode::CONFLICT | StatusCode::BAD_REQUEST | StatusCode::PAYLOAD_TOO_LARGE => "Not done",
            _ => "Something failed",
        };
        let body = html! {
            h1 { (title) }
            p.lead { (rich(&self.what)) }
            @if self.status == StatusCode::UNAUTHORIZED { p.say { a href="/pair" { "Pair this device" } } }
            p.say { "What was written before is kept. Go back to keep what you typed, or open the " a href="/" { "notebook" } "." }
        };
        (self.status, Sheet::new(title, "").with(body)).into_response()
    }
}

/// The findings that refuse what is out of bounds.
pub fn refusals(findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(|finding| finding.code == prep::screen::OUT_OF_BOUNDS)
}

fn refusal_page(findings: &[Finding], file: Option<&str>) -> Markup {
    html! {
        h1 { "Not planned here" }
        div.refusal {
            p { span.state.refused { b { "Refused." } } }
            @for finding in findings {
                p { (rich(&full_sentence(&finding.message))) }
                @for hint in &finding.hints { p { (rich(&full_sentence(hint))) } }
            }
            p { "Nothing has been computed and nothing will be. Hazards and disposal stay open." }
        }
        @if let Some(file) = file {
            p.say.q2 { "The file is not touched. It can be changed, and be planned again once it is within bounds." }
            p.acts-line { a.btn href=(file) { "Open the file" } a.btn.plain href="/" { "Notebook" } }
        } @else {
            p.say { "Preparations that are within bounds stand in the " a href="/" { "notebook" } "." }
        }
    }
}

/// No page of this address.
pub async fn nowhere() -> Trouble {
    Trouble::missing("There is no page of this address.")
}

/// A handler stopped; nobody else is touched by it.
pub fn panicked(_: Box<dyn std::any::Any + Send>) -> Response {
    Trouble::failed("This page could not be made.").into_response()
}

/// The fields of a form, in order.
pub struct Fields(pub Vec<(String, String)>);

impl Fields {
    /// A field that is not empty, without spaces around it.
    pub fn get(&self, key: &str) -> Option<&str> {
        self.0.iter().find(|(name, _)| name == key).map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
    }

    /// A field as typed.
    pub fn raw(&self, key: &str) -> Option<&str> {
        self.0.iter().find(|(name, _)| name == key).map(|(_, value)| value.as_str())
    }

    /// A field that has to be there.
    pub fn need(&self, key: &str) -> Result<&str, Trouble> {
        self.get(key).ok_or_else(|| Trouble::asked(format!("The field “{key}” is empty.")))
    }
}

impl<S: Send + Sync + 'static> FromRequest<S> for Fields {
    type Rejection = Trouble;

    async fn from_request(request: Request, state: &S) -> Result<Self, Trouble> {
        let found: Result<Form<Vec<(String, String)>>, _> = request.extract_with_state(state).await;
        found.map(|Form(fields)| Self(fields)).map_err(|error| match error.into_response().status() {
            StatusCode::PAYLOAD_TOO_LARGE => Trouble::too_large(),
            _ => Trouble::asked("The form could not be read."),
        })
    }
}
