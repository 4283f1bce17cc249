//! Whose request it is: the address that limits count by and the audit notes.

use axum::http::HeaderMap;
use std::net::{IpAddr, Ipv6Addr, SocketAddr};

/// Where proxies write the address of whoever they speak for.
const FORWARDED: &str = "x-forwarded-for";
/// Bits of an IPv6 address that name a network; those after them a computer gives itself (RFC 4291, section 2.5.1).
const SITE_BITS: u32 = 64;

/// The address of the client: the connection's; when that is a named proxy's, what the proxies say. `None` for a connection that
/// goes past them.
pub fn client(headers: &HeaderMap, peer: SocketAddr, proxies: &[IpAddr]) -> Option<IpAddr> {
    let peer = peer.ip().to_canonical();
    if proxies.is_empty() {
        return Some(peer);
    }
    let is_proxy = |address: &IpAddr| proxies.iter().any(|proxy| proxy.to_canonical() == *address);
    if !is_proxy(&peer) {
        return None;
    }
    // Each proxy writes whom it speaks for behind what came, into the same line or into a further one, so only what stands behind
    // the last address that is no proxy was written by one of them. Whatever stands before it, the client may have made up.
    let lines: Vec<&str> = headers
        .get_all(FORWARDED)
        .iter()
        .map(|line| line.to_str().unwrap_or(""))
        .collect();
    let mut nearest = peer;
    for told in lines.iter().rev().flat_map(|line| line.rsplit(',')) {
        let Some(told) = read(told) else { break };
        nearest = told;
        if !is_proxy(&told) {
            break;
        }
    }
    Some(nearest)
}

/// An address as proxies write it: alone, in brackets, with a port.
fn read(text: &str) -> Option<IpAddr> {
    let text = text.trim();
    let alone = text
        .strip_prefix('[')
        .and_then(|rest| rest.strip_suffix(']'))
        .unwrap_or(text);
    let address = alone
        .parse()
        .or_else(|_| text.parse().map(|with_port: SocketAddr| with_port.ip()));
    address.ok().map(|address: IpAddr| address.to_canonical())
}

/// What limits count by: one subscriber has a whole network of IPv6 addresses, and each of them as a first try would be no limit.
pub fn counted(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(address) => {
            let kept = u128::MAX << (128 - SITE_BITS);
            IpAddr::V6(Ipv6Addr::from_bits(address.to_bits() & kept))
        }
        address => address,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(lines: &[&str], peer: &str, proxies: &[&str]) -> Option<String> {
        let mut headers = HeaderMap::new();
        for line in lines {
            headers.append(FORWARDED, line.parse().unwrap());
        }
        let proxies: Vec<IpAddr> = proxies.iter().map(|proxy| proxy.parse().unwrap()).collect();
        client(&headers, SocketAddr::new(peer.parse().unwrap(), 4711), &proxies).map(|address| address.to_string())
    }

    /// Addresses of RFC 5737 and RFC 3849. What a proxy appends stands last (the common practice that RFC 7239, section 5.2, describes
    /// for `Forwarded`); several lines of one name are one list in their order (RFC 9110, section 5.3).
    #[test]
    fn only_what_the_proxies_wrote_is_believed() {
        let proxies = ["127.0.0.1", "192.0.2.1"];
        let of = |lines: &[&str]| told(lines, "127.0.0.1", &proxies).unwrap();
        assert_eq!(of(&["198.51.100.7"]), "198.51.100.7");
        // What a client sends along stands before what the proxy adds, in the same line or in a line before.
        assert_eq!(of(&["203.0.113.9, 198.51.100.7"]), "198.51.100.7");
        assert_eq!(of(&["203.0.113.9", "198.51.100.7"]), "198.51.100.7");
        assert_eq!(of(&["203.0.113.9, 203.0.113.8", "198.51.100.7"]), "198.51.100.7");
        // Two proxies in a row: the nearer one tells the farther one, the farther one the client.
        assert_eq!(of(&["203.0.113.9, 198.51.100.7, 192.0.2.1"]), "198.51.100.7");
        assert_eq!(of(&["203.0.113.9", "198.51.100.7", "192.0.2.1"]), "198.51.100.7");
        // A client that names a proxy gets no further than itself.
        assert_eq!(of(&["127.0.0.1, 198.51.100.7"]), "198.51.100.7");
        for written in ["198.51.100.7:5000", " 198.51.100.7 ", "::ffff:198.51.100.7"] {
            assert_eq!(of(&[written]), "198.51.100.7", "{written}");
        }
        for written in ["2001:db8::7", "[2001:db8::7]", "[2001:db8::7]:443"] {
            assert_eq!(of(&[written]), "2001:db8::7", "{written}");
        }
        // What is no address is the proxy's own matter: all who come so share its limits.
        for nothing in [&[][..], &[""], &["unknown"], &["198.51.100.7, unknown"]] {
            assert_eq!(of(nothing), "127.0.0.1", "{nothing:?}");
        }
        // Past the proxy nobody comes in; without one nobody's word is taken.
        assert_eq!(told(&["198.51.100.7"], "203.0.113.9", &proxies), None);
        assert_eq!(told(&["198.51.100.7"], "203.0.113.9", &[]).unwrap(), "203.0.113.9");
        assert_eq!(
            told(&["198.51.100.7"], "::ffff:192.0.2.1", &proxies).unwrap(),
            "198.51.100.7"
        );
    }

    #[test]
    fn a_network_of_one_subscriber_counts_as_one() {
        let counted = |text: &str| counted(text.parse().unwrap()).to_string();
        assert_eq!(counted("2001:db8:1:2:3:4:5:6"), "2001:db8:1:2::");
        assert_eq!(counted("2001:db8:1:3::1"), "2001:db8:1:3::");
        assert_eq!(counted("::ffff:192.0.2.1"), "192.0.2.1");
        assert_eq!(counted("192.0.2.1"), "192.0.2.1");
    }
}
