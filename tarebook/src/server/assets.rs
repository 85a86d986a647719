//! Which files does a page load?
//!
//! Styles, scripts and the typeface are part of the program; each is sent with a tag of its content, so that a browser
//! keeps it until it changes. Photographs lie in the notebook folder under the hash of their content.

use super::trouble::Trouble;
use super::{Office, blocking};
use crate::notebook::{PHOTOS, is_photograph};
use axum::extract::{Path, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// Name, kind, content.
const FILES: [(&str, &str, &[u8]); 9] = [
    ("tokens.css", "text/css; charset=utf-8", include_bytes!("../../assets/tokens.css")),
    ("page.css", "text/css; charset=utf-8", include_bytes!("../../assets/page.css")),
    ("more.css", "text/css; charset=utf-8", include_bytes!("../../assets/more.css")),
    ("theme.js", "text/javascript; charset=utf-8", include_bytes!("../../assets/theme.js")),
    ("page.js", "text/javascript; charset=utf-8", include_bytes!("../../assets/page.js")),
    ("bench.js", "text/javascript; charset=utf-8", include_bytes!("../../assets/bench.js")),
    ("tarebook-serif-roman.woff2", "font/woff2", include_bytes!("../../assets/fonts/tarebook-serif-roman.woff2")),
    ("tarebook-serif-italic.woff2", "font/woff2", include_bytes!("../../assets/fonts/tarebook-serif-italic.woff2")),
    ("OFL.txt", "text/plain; charset=utf-8", include_bytes!("../../assets/fonts/OFL.txt")),
];
const MARK: &[u8] = include_bytes!("../../assets/mark.svg");

/// A file of the program.
pub async fn show(Path(file): Path<String>, headers: HeaderMap) -> Result<Response, Trouble> {
    let found = FILES.iter().find(|(name, _, _)| *name == file);
    let (_, kind, content) = found.ok_or_else(|| Trouble::missing("There is no such file."))?;
    let tag = format!("\"{}\"", &blake3::hash(content).to_hex()[..16]);
    // Fonts never change under their name; the rest is asked for again and mostly found unchanged.
    let keep = if file.ends_with(".woff2") { "public, max-age=31536000, immutable" } else { "no-cache" };
    if headers.get(IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes()) {
        return Ok((StatusCode::NOT_MODIFIED, [(ETAG, tag)]).into_response());
    }
    Ok(([(CONTENT_TYPE, (*kind).to_owned()), (ETAG, tag), (CACHE_CONTROL, keep.to_owned())], *content).into_response())
}

/// The mark in the tab.
pub async fn favicon() -> impl IntoResponse {
    ([(CONTENT_TYPE, "image/svg+xml")], MARK)
}

/// Kind and ending of a photograph by its first bytes.
pub fn picture(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    match bytes {
        [0xff, 0xd8, 0xff, ..] => Some(("image/jpeg", "jpg")),
        [0x89, b'P', b'N', b'G', ..] => Some(("image/png", "png")),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some(("image/webp", "webp")),
        _ => None,
    }
}

/// A photograph of the notebook.
pub async fn photo(State(office): State<Arc<Office>>, Path(file): Path<String>) -> Result<Response, Trouble> {
    let missing = || Trouble::missing("There is no such photograph.");
    if !is_photograph(&file) {
        return Err(missing());
    }
    let path = office.notebook.folder().join(PHOTOS).join(&file);
    let bytes = blocking(move || std::fs::read(path).map_err(|_| missing())).await?;
    let (kind, _) = picture(&bytes).ok_or_else(missing)?;
    Ok(([(CONTENT_TYPE, kind)], bytes).into_response())
}
