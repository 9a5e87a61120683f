//! Who is at the other end of a connection, also when a proxy stands between.

use std::net::{IpAddr, Ipv6Addr, SocketAddr};

use axum::extract::ConnectInfo;
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderName};
use ipnet::IpNet;

/// Addresses that are counted as one: a single one of IPv4, a /64 of IPv6, of which one person has them all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct Group(IpAddr);

impl Group {
    /// Its bytes, always the same for the same group.
    pub(crate) fn bytes(self) -> [u8; 16] {
        match self.0 {
            IpAddr::V4(v4) => v4.to_ipv6_mapped().octets(),
            IpAddr::V6(v6) => v6.octets(),
        }
    }
}

/// The group of an address.
pub(crate) fn group(address: IpAddr) -> Group {
    match address.to_canonical() {
        IpAddr::V6(v6) => Group(IpAddr::V6(Ipv6Addr::from(u128::from(v6) & !u128::from(u64::MAX)))),
        v4 => Group(v4),
    }
}

const FORWARDED_FOR: HeaderName = HeaderName::from_static("x-forwarded-for");
const FORWARDED_PROTO: HeaderName = HeaderName::from_static("x-forwarded-proto");
const FORWARDED_HOST: HeaderName = HeaderName::from_static("x-forwarded-host");

/// Headers that only a proxy adds.
const BY_A_PROXY: [HeaderName; 6] = [
    FORWARDED_FOR,
    FORWARDED_PROTO,
    FORWARDED_HOST,
    HeaderName::from_static("forwarded"),
    HeaderName::from_static("x-real-ip"),
    HeaderName::from_static("via"),
];

/// Whether a request says that it came through a proxy.
pub(crate) fn is_forwarded(headers: &HeaderMap) -> bool {
    BY_A_PROXY.iter().any(|name| headers.contains_key(name))
}

/// Who asks.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Client {
    /// From where, when that is known.
    pub(crate) address: Option<IpAddr>,
    /// The scheme that a trusted proxy says the browser used.
    pub(crate) scheme: Option<String>,
    /// The host that a trusted proxy says the browser asked for.
    pub(crate) host: Option<String>,
}

impl Client {
    /// Of a request, with the proxies that are believed.
    pub(crate) fn of(parts: &Parts, trusted: &[IpNet]) -> Self {
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>().map(|c| c.0.ip().to_canonical());
        Self::from_headers(peer, &parts.headers, trusted)
    }

    pub(crate) fn from_headers(peer: Option<IpAddr>, headers: &HeaderMap, trusted: &[IpNet]) -> Self {
        let is_trusted = |address: &IpAddr| trusted.iter().any(|net| net.contains(address));
        let Some(peer) = peer.filter(is_trusted) else { return Self { address: peer, ..Self::default() } };
        // Each proxy adds at the end where it was asked from: the last that is no proxy of ours is the client. What stands before
        // it, the client may have made up.
        let mut address = peer;
        let hops: Vec<&str> = headers
            .get_all(FORWARDED_FOR)
            .iter()
            .filter_map(|v| v.to_str().ok())
            .flat_map(|v| v.split(','))
            .map(str::trim)
            .collect();
        for hop in hops.iter().rev() {
            let Some(before) = parse(hop) else { break };
            address = before;
            if !is_trusted(&before) {
                break;
            }
        }
        let last = |name: &HeaderName| {
            let value = headers.get_all(name).iter().next_back()?.to_str().ok()?;
            value.split(',').next_back().map(|v| v.trim().to_ascii_lowercase()).filter(|v| !v.is_empty())
        };
        Self { address: Some(address), scheme: last(&FORWARDED_PROTO), host: last(&FORWARDED_HOST) }
    }
}

/// An address, perhaps with a port.
fn parse(text: &str) -> Option<IpAddr> {
    let address = text.parse::<IpAddr>().ok().or_else(|| text.parse::<SocketAddr>().ok().map(|a| a.ip()));
    let address = address.or_else(|| text.strip_prefix('[')?.strip_suffix(']')?.parse().ok());
    address.map(|a| a.to_canonical())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(peer: &str, forwarded: &[&str], trusted: &[&str]) -> String {
        let mut headers = HeaderMap::new();
        for value in forwarded {
            headers.append(FORWARDED_FOR, value.parse().unwrap());
        }
        let trusted: Vec<IpNet> = trusted.iter().map(|t| t.parse().unwrap()).collect();
        let client = Client::from_headers(Some(peer.parse::<IpAddr>().unwrap().to_canonical()), &headers, &trusted);
        client.address.unwrap().to_string()
    }

    #[test]
    fn only_a_trusted_proxy_is_believed() {
        assert_eq!(address("192.0.2.9", &["198.51.100.1"], &[]), "192.0.2.9");
        assert_eq!(address("192.0.2.9", &["198.51.100.1"], &["10.0.0.0/8"]), "192.0.2.9");
        assert_eq!(address("10.0.0.1", &["198.51.100.1"], &["10.0.0.0/8"]), "198.51.100.1");
        // Made up by the client in front of what the proxies added, in one header or several.
        assert_eq!(address("10.0.0.1", &["127.0.0.1, 198.51.100.1, 10.0.0.2"], &["10.0.0.0/8"]), "198.51.100.1");
        assert_eq!(address("10.0.0.1", &["127.0.0.1", "198.51.100.1:443"], &["10.0.0.0/8"]), "198.51.100.1");
        assert_eq!(address("10.0.0.1", &["nonsense"], &["10.0.0.0/8"]), "10.0.0.1");
        assert_eq!(address("::ffff:10.0.0.1", &["[2001:db8::1]"], &["10.0.0.0/8"]), "2001:db8::1");
    }

    #[test]
    fn a_prefix_of_ipv6_is_one_and_an_address_of_ipv4_is_one() {
        let group = |t: &str| group(t.parse().unwrap());
        assert_eq!(group("2001:db8:0:1::1"), group("2001:db8:0:1:ffff::2"));
        assert_ne!(group("2001:db8:0:1::1"), group("2001:db8:0:2::1"));
        assert_eq!(group("::ffff:192.0.2.1"), group("192.0.2.1"));
        assert_ne!(group("192.0.2.1"), group("192.0.2.2"));
    }
}
