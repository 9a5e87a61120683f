//! A server elsewhere, as a device sees it.

use std::path::Path;
use std::time::Duration;

use goldward_journal::sync::{self, ServerLog, SyncRequest};

use crate::failure::{Failure, Fault, said};
use goldward_report::words::Wrong;
use goldward_session::problem::{plain, short};

/// Largest answer read, in bytes.
const LARGEST: u64 = 256 * 1024 * 1024;
/// A connection that breaks is tried again so often.
const TRIES: u32 = 4;

/// The address of a server: `https://club.example`, or `http://` on this machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    /// Without a slash at its end.
    text: String,
    loopback: bool,
    secret: bool,
}

impl std::str::FromStr for Address {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let text = text.trim_end_matches('/');
        let (scheme, rest) = text.split_once("://").ok_or("it has no scheme: write https:// before it")?;
        let secret = scheme.eq_ignore_ascii_case("https");
        if !secret && !scheme.eq_ignore_ascii_case("http") {
            return Err("only https:// and http:// are spoken".to_owned());
        }
        let authority = rest.split('/').next().unwrap_or_default();
        if authority.contains('@') {
            return Err("a name or password does not belong here: use a device's token".to_owned());
        }
        if authority.is_empty() || rest.contains(['?', '#', ' ']) || text.chars().any(char::is_control) {
            return Err("it is no address of a server: write it such as https://club.example".to_owned());
        }
        let host = match authority.strip_prefix('[') {
            Some(v6) => v6.split(']').next().unwrap_or_default(),
            None => authority.split(':').next().unwrap_or_default(),
        };
        let loopback = host == "localhost" || host.parse().is_ok_and(|ip: std::net::IpAddr| ip.is_loopback());
        Ok(Self { text: text.to_owned(), loopback, secret })
    }
}

impl std::fmt::Display for Address {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

/// The token in the first line of a file.
pub(super) fn token_of(file: &Path) -> Result<String, Failure> {
    let fail =
        |fault: Fault| Failure::data(said(Wrong::NotRead, [file.display().into()]), fault.remedy(Wrong::TokenLine));
    let text = std::fs::read_to_string(file).map_err(|e| fail(Fault::io(&e)))?;
    let token = text.lines().next().unwrap_or_default().trim();
    if token.is_empty() { Err(fail(Wrong::NoToken.into())) } else { Ok(token.to_owned()) }
}

/// A server that is spoken to.
pub(super) struct Remote {
    agent: ureq::Agent,
    address: Address,
    token: Option<String>,
}

impl Remote {
    pub(super) fn new(address: &Address, token: Option<String>) -> Result<Self, Failure> {
        if token.as_ref().is_some_and(|t| !t.bytes().all(|b| b.is_ascii_graphic())) {
            return Err(Failure::Usage(Fault::from(Wrong::BadToken).at_said(Wrong::TheToken)));
        }
        if token.is_some() && !address.secret && !address.loopback {
            return Err(Failure::usage("URL", Wrong::OpenToken));
        }
        let mut config = ureq::Agent::config_builder()
            .http_status_as_error(false)
            .max_redirects(0)
            .max_redirects_will_error(false)
            .timeout_connect(Some(Duration::from_secs(15)))
            .timeout_global(Some(Duration::from_secs(300)))
            .user_agent(concat!("goldward/", env!("CARGO_PKG_VERSION")));
        if address.loopback {
            config = config.proxy(None);
        }
        Ok(Self { agent: config.build().into(), address: address.clone(), token })
    }

    /// The logs that the server has for this device.
    pub(super) fn logs(&self) -> Result<Vec<ServerLog>, sync::Failure> {
        let text = self.call("GET", "/api/v1/logs", None)?;
        serde_json::from_str(&text).map_err(|e| {
            let what = format!("its answer {} is not understood: {e}: is it a Goldward server?", short(&text));
            sync::Failure::Other(200, what)
        })
    }

    /// One exchange; the text of the answer.
    pub(super) fn sync(&self, request: &SyncRequest) -> Result<String, sync::Failure> {
        let body = serde_json::to_string(request).map_err(|e| sync::Failure::Bad(e.to_string()))?;
        self.call("POST", "/api/v1/sync", Some(&body))
    }

    /// Both calls can be repeated without harm, so a connection that breaks is tried again.
    fn call(&self, method: &str, path: &str, body: Option<&str>) -> Result<String, sync::Failure> {
        let mut tries = 1;
        loop {
            match self.once(method, path, body) {
                Ok((503, _)) | Err(_) if tries < TRIES => {
                    std::thread::sleep(Duration::from_millis(250 << tries));
                    tries += 1;
                }
                Ok((200, bytes)) => {
                    let cannot =
                        |_| sync::Failure::Other(200, "its answer is no text: is it a Goldward server?".to_owned());
                    return String::from_utf8(bytes).map_err(cannot);
                }
                Ok((status, bytes)) => {
                    let object: Option<serde_json::Value> = serde_json::from_slice(&bytes).ok();
                    let said = object.and_then(|o| o["message"].as_str().map(plain));
                    return Err(sync::Failure::of(status, said.unwrap_or_else(|| format!("it answers {status}"))));
                }
                Err(e) => return Err(sync::Failure::Offline(e.to_string())),
            }
        }
    }

    fn once(&self, method: &str, path: &str, body: Option<&str>) -> Result<(u16, Vec<u8>), ureq::Error> {
        let mut request = ureq::http::Request::builder().method(method).uri(format!("{}{path}", self.address));
        if let Some(token) = &self.token {
            request = request.header("authorization", format!("Bearer {token}"));
        }
        let mut response = match body {
            Some(body) => self.agent.run(request.header("content-type", "application/json").body(body)?)?,
            None => self.agent.run(request.body(())?)?,
        };
        let bytes = response.body_mut().with_config().limit(LARGEST).read_to_vec()?;
        Ok((response.status().as_u16(), bytes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_checked() {
        let address = |t: &str| t.parse::<Address>();
        assert_eq!(address("https://club.example/goldward/").unwrap().to_string(), "https://club.example/goldward");
        for (text, loopback) in [
            ("http://127.0.0.1:8017", true),
            ("http://[::1]:8017/", true),
            ("http://localhost", true),
            ("http://localhost.example", false),
            ("http://192.168.1.4:8017", false),
        ] {
            assert_eq!(address(text).unwrap().loopback, loopback, "{text}");
        }
        for text in
            ["club.example", "ftp://club.example", "https://", "https://a:b@club.example", "https://club.example?x"]
        {
            assert!(address(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_token_goes_over_https_or_stays_on_this_machine() {
        let token = || Some("0123".to_owned());
        let new = |text: &str, token| Remote::new(&text.parse().unwrap(), token).map(drop);
        assert!(new("https://club.example", token()).is_ok());
        assert!(new("http://127.0.0.1:1", token()).is_ok());
        assert!(new("http://club.example", None).is_ok());
        assert!(matches!(new("http://club.example", token()), Err(Failure::Usage(_))));
        assert!(matches!(new("https://club.example", Some("a\nb".to_owned())), Err(Failure::Usage(_))));
    }
}
