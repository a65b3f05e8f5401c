//! The page: its shell, the same for everybody, and its files, named by their content.

use std::sync::OnceLock;

use axum::extract::State;
use axum::http::{HeaderMap, HeaderName, StatusCode, header};
use axum::response::IntoResponse;
use serde::Deserialize;

use crate::page_files::PageFiles;

use super::app::App;
use super::error::{ApiError, ApiResult};
use super::extract::InPath;
use super::routes::{KeyPolicy, Operation, Routes, text};
use super::table::is_known;

pub(super) fn routes() -> Routes {
    Routes::default()
        .with(
            Operation::get("/", "show_page", "The page, the same for everybody.")
                .key_policy(KeyPolicy::NoKey)
                .answers(200, "The page", &[text("text/html")]),
            shell,
        )
        .with(
            Operation::get(
                "/assets/{hash}/{*name}",
                "show_page_file",
                "A file of the page, named by the content of all its files.",
            )
            .key_policy(KeyPolicy::NoKey)
            .answers(
                200,
                "The file, to be kept for ever",
                &[text("text/javascript"), text("text/css")],
            ),
            file,
        )
}

/// What the page may do: its own scripts and styles from files, pictures made by itself, questions to its own server.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; \
connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What its answers say besides. `Vary` would keep others from sharing what is the same for everybody.
const FENCED: [(HeaderName, &str); 4] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (
        HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    ),
    (
        HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    ),
    (header::VARY, "Accept-Encoding"),
];

fn files() -> &'static PageFiles {
    static FILES: OnceLock<PageFiles> = OnceLock::new();
    FILES.get_or_init(PageFiles::read)
}

async fn shell(State(_): State<App>, headers: HeaderMap) -> ApiResult {
    let files = files();
    let kept = [
        (header::CACHE_CONTROL, "no-cache".to_owned()),
        (header::ETAG, format!("\"{}\"", files.version)),
    ];
    if is_known(&headers, &files.version) {
        return Ok((StatusCode::NOT_MODIFIED, FENCED, kept).into_response());
    }
    let html = [(header::CONTENT_TYPE, "text/html; charset=utf-8")];
    Ok((FENCED, kept, html, files.shell.clone()).into_response())
}

#[derive(Deserialize)]
struct FilePath {
    hash: String,
    name: String,
}

async fn file(State(_): State<App>, InPath(path): InPath<FilePath>) -> ApiResult {
    let files = files();
    let file = files.get(&path.name).filter(|_| path.hash == files.version);
    let file = file.ok_or(ApiError::NoSuchFile)?;
    let kept = [
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable"),
        (header::CONTENT_TYPE, file.media_type),
    ];
    Ok((FENCED, kept, file.bytes.clone()).into_response())
}
