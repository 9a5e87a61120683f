//! The built web app: files with their type, cache headers, and compressed forms where the build made them.

use std::path::{Component, Path, PathBuf};

use axum::body::Body;
use axum::extract::State;
use axum::http::header::{ACCEPT_ENCODING, CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE, ETAG, IF_NONE_MATCH, VARY};
use axum::http::{HeaderMap, Method, StatusCode, Uri};
use axum::response::{IntoResponse, Response};

use crate::App;
use crate::error::ApiError;

fn mime(path: &Path) -> &'static str {
    match path.extension().and_then(|e| e.to_str()).unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "wasm" => "application/wasm",
        "json" | "map" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "ico" => "image/x-icon",
        "webp" => "image/webp",
        "woff2" => "font/woff2",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

/// Whether the name carries a hash of the content, so that it never changes under that name.
fn never_changes(path: &Path) -> bool {
    let stem = path.file_stem().and_then(|s| s.to_str()).unwrap_or_default();
    stem.split(['-', '.', '_']).any(|part| {
        part.len() >= 8 && part.bytes().all(|b| b.is_ascii_hexdigit()) && part.bytes().any(|b| b.is_ascii_digit())
    })
}

/// The path inside the folder; nothing for one that leads out of it.
fn inside(root: &Path, path: &str) -> Option<PathBuf> {
    let path = Path::new(path.trim_start_matches('/'));
    let tame = path.components().all(|c| matches!(c, Component::Normal(_)));
    (tame && !path.to_string_lossy().contains(['%', '\\', '\0'])).then(|| root.join(path))
}

/// Answers what no route answers: a file of the app, or its first page for the addresses that the app makes up itself.
pub(crate) async fn fallback(State(app): State<App>, method: Method, uri: Uri, headers: HeaderMap) -> Response {
    if uri.path().starts_with("/api/") || !matches!(method, Method::GET | Method::HEAD) {
        return ApiError::NotFound.into_response();
    }
    let Some(root) = &app.web else {
        let text = "Goldward runs here, without the web app: start it with --web and the folder of the built app.\n";
        return (StatusCode::OK, text).into_response();
    };
    let wanted = match uri.path() {
        "/" => "index.html",
        path => path,
    };
    let Some(path) = inside(root, wanted) else { return ApiError::NotFound.into_response() };
    if let Some(response) = file(&path, &headers).await {
        return response;
    }
    // A missing file is missing; a missing page is one of the app's.
    if path.extension().is_some() {
        return ApiError::NotFound.into_response();
    }
    file(&root.join("index.html"), &headers).await.unwrap_or_else(|| ApiError::NotFound.into_response())
}

async fn file(path: &Path, headers: &HeaderMap) -> Option<Response> {
    let accepts_br = headers
        .get(ACCEPT_ENCODING)
        .and_then(|v| v.to_str().ok())
        .is_some_and(|v| v.split(',').any(|e| e.trim().split(';').next() == Some("br")));
    let mut compressed = path.as_os_str().to_owned();
    compressed.push(".br");
    let compressed = accepts_br.then_some(PathBuf::from(compressed));
    let (from, encoding) = match compressed {
        Some(br) if tokio::fs::metadata(&br).await.is_ok_and(|m| m.is_file()) => (br, Some("br")),
        _ => (path.to_owned(), None),
    };
    let meta = tokio::fs::metadata(&from).await.ok().filter(std::fs::Metadata::is_file)?;
    let changed = meta.modified().ok()?.duration_since(std::time::UNIX_EPOCH).map_or(0, |d| d.as_millis());
    let tag = format!("\"{:x}-{changed:x}{}\"", meta.len(), encoding.unwrap_or_default());
    let cache = if never_changes(path) { "public, max-age=31536000, immutable" } else { "no-cache" };
    let known = headers.get(IF_NONE_MATCH).and_then(|v| v.to_str().ok()).is_some_and(|v| v.contains(&tag));
    let mut response = Response::builder()
        .header(CONTENT_TYPE, mime(path))
        .header(CACHE_CONTROL, cache)
        .header(ETAG, &tag)
        .header(VARY, "accept-encoding");
    if known {
        return response.status(StatusCode::NOT_MODIFIED).body(Body::empty()).ok();
    }
    if let Some(encoding) = encoding {
        response = response.header(CONTENT_ENCODING, encoding);
    }
    response.body(Body::from(tokio::fs::read(&from).await.ok()?)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_path_leads_out_of_the_folder() {
        let root = Path::new("/srv/web");
        assert_eq!(inside(root, "/app.js"), Some(root.join("app.js")));
        for path in ["/../etc/passwd", "/a/../../b", "/%2e%2e/x", "/a\\..\\b", "/./../x"] {
            assert_eq!(inside(root, path), None, "{path}");
        }
        assert_eq!(inside(root, "//etc/passwd"), Some(root.join("etc/passwd")));
    }

    #[test]
    fn only_names_with_a_hash_are_kept_for_ever() {
        assert!(never_changes(Path::new("app-1a2b3c4d5e6f.js")));
        for name in ["index.html", "sw.js", "app.wasm", "goldward_web_bg.wasm", "feedface.js"] {
            assert!(!never_changes(Path::new(name)), "{name}");
        }
    }
}
