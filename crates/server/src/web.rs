//! The built web app, in a folder or inside the program: files with their type, cache headers, and compressed forms where the build made
//! them.

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

/// The path among the files; nothing for one that leads out of them.
fn inside(path: &str) -> Option<PathBuf> {
    let path = Path::new(path.trim_start_matches('/'));
    let tame = path.components().all(|c| matches!(c, Component::Normal(_)));
    (tame && !path.to_string_lossy().contains(['%', '\\', '\0'])).then(|| path.to_owned())
}

/// The file that is asked for: of a folder, such as that of the guide, its own first page.
fn file_of(path: &str) -> Option<PathBuf> {
    let file = inside(path)?;
    Some(if path.ends_with('/') { file.join("index.html") } else { file })
}

/// Answers what no route answers: a file of the app, or its first page for the addresses that the app makes up itself.
pub(crate) async fn fallback(State(app): State<App>, method: Method, uri: Uri, headers: HeaderMap) -> Response {
    if uri.path().starts_with("/api/") || !matches!(method, Method::GET | Method::HEAD) {
        return ApiError::NotFound.into_response();
    }
    let Some(files) = Files::of(app.web.as_deref()) else {
        let text = "Goldward runs here, without the web app: start it with --web and the folder of the built app.\n";
        return (StatusCode::OK, text).into_response();
    };
    let Some(path) = file_of(uri.path()) else { return ApiError::NotFound.into_response() };
    if let Some(response) = answer(files, &path, &headers).await {
        return response;
    }
    // A missing file is missing; a missing page is one of the app's.
    if path.extension().is_some() && !uri.path().ends_with('/') {
        return ApiError::NotFound.into_response();
    }
    answer(files, Path::new("index.html"), &headers).await.unwrap_or_else(|| ApiError::NotFound.into_response())
}

/// Looks up a file that is inside the program: what it holds, and a hash of that.
type Find = fn(&str) -> Option<(&'static [u8], String)>;

/// Where the files are.
#[derive(Clone, Copy)]
enum Files<'a> {
    Folder(&'a Path),
    #[cfg_attr(
        not(any(feature = "app", test)),
        expect(dead_code, reason = "only a program with the app inside has them")
    )]
    Inside(Find),
}

impl<'a> Files<'a> {
    /// Those of the folder that was named, else those inside the program.
    fn of(folder: Option<&'a Path>) -> Option<Self> {
        #[cfg(feature = "app")]
        let otherwise = Some(Self::Inside(crate::app::find));
        #[cfg(not(feature = "app"))]
        let otherwise = None;
        folder.map(Self::Folder).or(otherwise)
    }

    /// What a file is known by, and what it holds once it is asked for.
    async fn look(self, path: &Path) -> Option<(String, Holds)> {
        match self {
            Self::Folder(root) => {
                let path = root.join(path);
                let meta = tokio::fs::metadata(&path).await.ok().filter(std::fs::Metadata::is_file)?;
                let changed = meta.modified().ok()?.duration_since(std::time::UNIX_EPOCH).map_or(0, |d| d.as_millis());
                Some((format!("{:x}-{changed:x}", meta.len()), Holds::There(path)))
            }
            Self::Inside(find) => {
                let (bytes, hash) = find(path.to_str()?)?;
                Some((hash, Holds::These(bytes)))
            }
        }
    }
}

/// What a file holds.
enum Holds {
    There(PathBuf),
    These(&'static [u8]),
}

impl Holds {
    async fn body(self) -> Option<Body> {
        Some(match self {
            Self::There(path) => tokio::fs::read(path).await.ok()?.into(),
            Self::These(bytes) => bytes.into(),
        })
    }
}

async fn answer(files: Files<'_>, path: &Path, headers: &HeaderMap) -> Option<Response> {
    let accepts_br = headers
        .get(ACCEPT_ENCODING)
        .and_then(|v| v.to_str().ok())
        .is_some_and(|v| v.split(',').any(|e| e.trim().split(';').next() == Some("br")));
    let mut compressed = path.as_os_str().to_owned();
    compressed.push(".br");
    let packed = if accepts_br { files.look(Path::new(&compressed)).await } else { None };
    let encoding = packed.is_some().then_some("br");
    let (tag, holds) = match packed {
        Some(packed) => packed,
        None => files.look(path).await?,
    };
    let tag = format!("\"{tag}{}\"", encoding.unwrap_or_default());
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
    response.body(holds.body().await?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_path_leads_out_of_the_folder() {
        assert_eq!(inside("/app.js"), Some("app.js".into()));
        for path in ["/../etc/passwd", "/a/../../b", "/%2e%2e/x", "/a\\..\\b", "/./../x"] {
            assert_eq!(inside(path), None, "{path}");
        }
        assert_eq!(inside("//etc/passwd"), Some("etc/passwd".into()));
    }

    #[test]
    fn a_folder_begins_with_its_first_page() {
        assert_eq!(file_of("/"), Some("index.html".into()));
        assert_eq!(file_of("/guide/"), Some("guide/index.html".into()));
        assert_eq!(file_of("/guide/archer/de.html"), Some("guide/archer/de.html".into()));
        assert_eq!(file_of("/guide/../"), None);
    }

    #[tokio::test]
    async fn files_inside_the_program_are_answered_as_those_of_a_folder_are() {
        let packed = b"packed".as_slice();
        let find: Find = |name| {
            let bytes = match name {
                "app.wasm" => b"plain".as_slice(),
                "app.wasm.br" => b"packed",
                "index.html" => b"<!doctype html>",
                _ => return None,
            };
            Some((bytes, format!("hash of {name}")))
        };
        let folder = tempfile::tempdir().unwrap();
        for name in ["app.wasm", "app.wasm.br", "index.html"] {
            std::fs::write(folder.path().join(name), find(name).unwrap().0).unwrap();
        }
        for files in [Files::Inside(find), Files::Folder(folder.path())] {
            let ask = async |name: &str, header: Option<(_, &str)>| {
                let headers: HeaderMap = header.into_iter().map(|(k, v)| (k, v.parse().unwrap())).collect();
                answer(files, Path::new(name), &headers).await
            };
            let told = async |response: Response| {
                let of = |name| response.headers().get(name).map(|v| v.to_str().unwrap().to_owned());
                let (kind, encoding, tag) = (of(CONTENT_TYPE), of(CONTENT_ENCODING), of(ETAG).unwrap());
                let bytes = axum::body::to_bytes(response.into_body(), 100).await.unwrap();
                (kind.unwrap(), encoding, bytes.to_vec(), tag)
            };
            let plain = told(ask("app.wasm", None).await.unwrap()).await;
            assert_eq!(
                (plain.0.as_str(), plain.1, plain.2.as_slice()),
                ("application/wasm", None, b"plain".as_slice())
            );
            let br = told(ask("app.wasm", Some((ACCEPT_ENCODING, "gzip, br"))).await.unwrap()).await;
            assert_eq!((br.0.as_str(), br.1.as_deref(), br.2.as_slice()), ("application/wasm", Some("br"), packed));
            assert_ne!(plain.3, br.3, "two forms have two names");
            let known = ask("app.wasm", Some((IF_NONE_MATCH, plain.3.as_str()))).await.unwrap();
            assert_eq!(known.status(), StatusCode::NOT_MODIFIED);
            let page = told(ask("index.html", Some((ACCEPT_ENCODING, "br"))).await.unwrap()).await;
            assert_eq!((page.1, page.2.as_slice()), (None, b"<!doctype html>".as_slice()));
            assert!(ask("missing.js", None).await.is_none());
        }
    }

    #[test]
    fn only_names_with_a_hash_are_kept_for_ever() {
        assert!(never_changes(Path::new("app-1a2b3c4d5e6f.js")));
        for name in ["index.html", "sw.js", "app.wasm", "goldward_web_bg.wasm", "feedface.js"] {
            assert!(!never_changes(Path::new(name)), "{name}");
        }
    }
}
