//! How a server that has just started is reached from a phone, for whoever started it.

use std::net::{IpAddr, SocketAddr};

use anstyle::{AnsiColor, Style};
use goldward_report::words::{Done, Language};
use qrcodegen::{QrCode, QrCodeEcc};

/// Light squares around a code, which scanners need.
const QUIET: i32 = 2;

/// The addresses of this machine in its networks, those of version 4 first; none of itself alone or of one link.
pub(crate) fn addresses() -> Vec<IpAddr> {
    let is_far = |ip: &IpAddr| match ip {
        IpAddr::V4(ip) => !ip.is_loopback() && !ip.is_link_local(),
        IpAddr::V6(ip) => !ip.is_loopback() && !ip.is_unicast_link_local(),
    };
    let found = if_addrs::get_if_addrs().unwrap_or_default();
    let mut all: Vec<IpAddr> = found.iter().map(if_addrs::Interface::ip).filter(is_far).collect();
    all.sort_unstable();
    all.dedup();
    all
}

/// What is said of it: where it listens, whether it stands behind a proxy that speaks HTTPS, this machine's addresses, and whether a code
/// can be shown, and in colour.
pub(crate) fn told(l: Language, at: SocketAddr, https: bool, addresses: &[IpAddr], code: Option<bool>) -> String {
    let line = |what: Done| what.text(l).to_owned() + "\n";
    if https {
        return line(Done::ThroughProxy);
    }
    let ip = at.ip().to_canonical();
    if ip.is_loopback() {
        return line(Done::OnlyHere);
    }
    let fits = |a: &&IpAddr| ip.is_unspecified() && (a.is_ipv4() || at.is_ipv6());
    let mut there: Vec<SocketAddr> = addresses.iter().filter(fits).map(|a| SocketAddr::new(*a, at.port())).collect();
    if !ip.is_unspecified() {
        there.push(SocketAddr::new(ip, at.port()));
    }
    let Some(first) = there.first() else {
        return line(Done::NoNetwork);
    };
    let mut text = line(Done::FromAPhone);
    for address in &there {
        text += &format!("  http://{address}/\n");
    }
    if let Some(colour) = code {
        text += &shown(&format!("http://{first}/"), colour);
    }
    text + &line(Done::WithoutHttps)
}

/// A text as a code for a phone's camera, two rows of squares in a line; nothing where it is too long for one.
fn shown(text: &str, colour: bool) -> String {
    let Ok(code) = QrCode::encode_text(text, QrCodeEcc::Low) else { return String::new() };
    // Light is drawn, since most terminals are dark; in colour it is so on all of them.
    let style = if colour {
        Style::new().fg_color(Some(AnsiColor::BrightWhite.into())).bg_color(Some(AnsiColor::Black.into()))
    } else {
        Style::new()
    };
    let last = code.size() + QUIET;
    // Below the last row there is nothing, neither light nor dark.
    let light = |x, y| y < last && !code.get_module(x, y);
    let mut out = String::new();
    for y in (-QUIET..last).step_by(2) {
        let row = (-QUIET..last).map(|x| match (light(x, y), light(x, y + 1)) {
            (true, true) => '█',
            (true, false) => '▀',
            (false, true) => '▄',
            (false, false) => ' ',
        });
        out += &format!("  {style}{}{style:#}\n", row.collect::<String>());
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a camera reads of the lines of a code.
    fn scanned(lines: &[&str]) -> String {
        let rows: Vec<Vec<char>> = lines.iter().map(|l| l.chars().skip(2).collect()).collect();
        let (wide, scale) = (rows[0].len(), 4);
        let light = |x: usize, y: usize| match rows[y / 2][x] {
            '█' => true,
            '▀' => y.is_multiple_of(2),
            '▄' => y % 2 == 1,
            _ => false,
        };
        // On a dark terminal, some of which is seen.
        let margin = 3;
        let (w, h) = ((wide + 2 * margin) * scale, (rows.len() * 2 + 2 * margin) * scale);
        let mut picture = rqrr::PreparedImage::prepare_from_greyscale(w, h, |x, y| {
            let (x, y) = ((x / scale).wrapping_sub(margin), (y / scale).wrapping_sub(margin));
            if x < wide && y < rows.len() * 2 && light(x, y) { 255 } else { 0 }
        });
        let grids = picture.detect_grids();
        assert_eq!(grids.len(), 1, "one code");
        grids[0].decode().unwrap().1
    }

    #[test]
    fn a_phone_in_the_same_network_is_told_the_address_and_shown_a_code() {
        let ips: Vec<IpAddr> = ["192.0.2.7", "198.51.100.3", "2001:db8::7"].map(|t| t.parse().unwrap()).into();
        let at = |text: &str| text.parse::<SocketAddr>().unwrap();
        let told = |at, https, ips: &[IpAddr], code| told(Language::English, at, https, ips, code);
        let text = told(at("0.0.0.0:8017"), false, &ips, Some(false));
        let code: Vec<&str> = text.lines().filter(|l| l.contains(['█', '▀', '▄'])).collect();
        assert_eq!(scanned(&code), "http://192.0.2.7:8017/");
        assert!(text.contains("http://198.51.100.3:8017/") && !text.contains("2001:db8") && text.contains("HTTPS"));
        assert!(told(at("[::]:80"), false, &ips, None).contains("http://[2001:db8::7]:80/"));
        assert!(told(at("192.0.2.7:80"), false, &[], None).contains("http://192.0.2.7:80/"));
        assert!(told(at("0.0.0.0:80"), false, &[], Some(true)).contains("no network"));
        for local in ["127.0.0.1:8017", "[::1]:8017", "[::ffff:127.0.0.1]:8017"] {
            let text = told(at(local), false, &ips, Some(true));
            assert!(text.contains("only browsers on this machine") && !text.contains("192.0.2.7"), "{text}");
        }
        assert!(told(at("0.0.0.0:8017"), true, &ips, Some(true)).contains("https://"));
    }

    #[test]
    fn this_machine_is_not_told_as_itself() {
        assert!(addresses().iter().all(|a| !a.is_loopback()));
    }
}
