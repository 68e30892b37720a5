//! What other programs are told, and where it may be sent. Addresses inside a network of one's own are no business of whoever
//! types an address into a page, so they are refused unless the server's own settings allow them.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

use super::hearing::AlertKind;
use super::refusal::{Refusal, plain_text};

/// What can be sent. What concerns one person only is not.
pub const SENT: [AlertKind; 8] = [
    AlertKind::MachineHeld,
    AlertKind::UsedWhileHeld,
    AlertKind::NotAcknowledged,
    AlertKind::Released,
    AlertKind::HoldLifted,
    AlertKind::CameBack,
    AlertKind::OutsideLate,
    AlertKind::PartArrived,
];

/// The `type` of a message that only tries the address out.
pub const TEST: &str = "webhook.test";

/// The `type` of a message; None for what is not sent.
pub const fn type_of(kind: AlertKind) -> Option<&'static str> {
    Some(match kind {
        AlertKind::MachineHeld => "machine.held",
        AlertKind::UsedWhileHeld => "machine.used_while_held",
        AlertKind::NotAcknowledged => "machine.not_acknowledged",
        AlertKind::Released => "machine.released",
        AlertKind::HoldLifted => "hold.lifted",
        AlertKind::CameBack => "defect.came_back",
        AlertKind::OutsideLate => "repair_outside.late",
        AlertKind::PartArrived => "part.arrived",
        _ => return None,
    })
}

/// An address as it is typed; whether it may be sent to is decided again when its name is looked up.
pub fn address(typed: &str, private_too: bool) -> Result<String, Refusal> {
    let url = plain_text("/url", said!("what-webhook-address"), typed, 1000)?;
    let no = || Refusal::invalid("/url", said!("webhook-address-needed"));
    let rest = match url.strip_prefix("https://") {
        Some(rest) => rest,
        None if private_too => url.strip_prefix("http://").ok_or_else(no)?,
        None => return Err(no()),
    };
    let host = rest.split(['/', '?']).next().unwrap_or_default();
    let odd = |c: char| !c.is_ascii_graphic() || matches!(c, '"' | '<' | '>' | '\\' | '#');
    if host.is_empty() || host.contains('@') || rest.contains(odd) { Err(no()) } else { Ok(url) }
}

/// Name or address between `//` and the path.
pub fn host_of(url: &str) -> &str {
    url.split_once("://").map_or(url, |(_, rest)| rest).split(['/', '?']).next().unwrap_or_default()
}

/// Whether an address is one of the internet at large (IANA's special-purpose address registries, RFC 6890 and its updates).
pub fn is_public(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => is_public_v4(v4),
        IpAddr::V6(v6) => is_public_v6(v6),
    }
}

fn is_public_v4(address: Ipv4Addr) -> bool {
    let [a, b, c, _] = address.octets();
    !(a == 0
        || address.is_private()
        || address.is_loopback()
        || address.is_link_local()
        || address.is_multicast()
        || address.is_documentation()
        // Shared by a carrier's customers (RFC 6598); protocol assignments; the old 6to4 relay; benchmarking (RFC 2544).
        || (a == 100 && (64..128).contains(&b))
        || (a == 192 && b == 0 && c == 0)
        || (a == 192 && b == 88 && c == 99)
        || (a == 198 && (b == 18 || b == 19))
        // Reserved, and broadcast.
        || a >= 240)
}

fn is_public_v6(address: Ipv6Addr) -> bool {
    if let Some(v4) = address.to_ipv4_mapped() {
        return is_public_v4(v4);
    }
    let s = address.segments();
    let v4 = |high: u16, low: u16| Ipv4Addr::from((u32::from(high) << 16) | u32::from(low));
    // NAT64 (RFC 6052) and 6to4 (RFC 3056) carry an IPv4 address.
    if s[..6] == [0x64, 0xff9b, 0, 0, 0, 0] {
        return is_public_v4(v4(s[6], s[7]));
    }
    if s[0] == 0x2002 {
        return is_public_v4(v4(s[1], s[2]));
    }
    // Global unicast is 2000::/3 and nothing else (RFC 4291); in it Teredo and other protocol assignments, and documentation.
    (s[0] & 0xe000) == 0x2000
        && !(s[0] == 0x2001 && s[1] < 0x0200)
        && !(s[0] == 0x2001 && s[1] == 0x0db8)
        && !(s[0] == 0x3fff && s[1] < 0x1000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_of_ones_own_network_are_told_from_those_of_the_internet() {
        // After IANA's IPv4 and IPv6 Special-Purpose Address Registries (from memory), and their neighbours.
        let no = "0.0.0.0 0.1.2.3 10.0.0.1 10.255.255.255 100.64.0.1 100.127.255.255 127.0.0.1 127.9.9.9 169.254.169.254 \
            172.16.0.1 172.31.255.255 192.0.0.8 192.0.2.1 192.88.99.1 192.168.1.1 198.18.0.1 198.19.255.255 198.51.100.7 \
            203.0.113.9 224.0.0.1 239.1.1.1 240.0.0.1 255.255.255.255 :: ::1 ::ffff:127.0.0.1 ::ffff:10.1.2.3 \
            64:ff9b::a00:1 64:ff9b:1::1 100::1 2001::1 2001:db8::1 2002:7f00:1::1 2002:c0a8:101::1 3fff::1 fc00::1 fd12::1 \
            fe80::1 fec0::1 ff02::1 ::127.0.0.1";
        for address in no.split_whitespace() {
            assert!(!is_public(address.parse().unwrap()), "{address}");
        }
        let yes = "1.1.1.1 9.255.255.255 11.0.0.1 100.63.255.255 100.128.0.1 172.15.255.255 172.32.0.1 192.0.1.1 192.167.1.1 \
            198.17.255.255 198.20.0.1 223.255.255.255 2606:4700::1 2a00:1450::1 64:ff9b::101:101 2002:101:101::1 \
            ::ffff:8.8.8.8 2001:200::1";
        for address in yes.split_whitespace() {
            assert!(is_public(address.parse().unwrap()), "{address}");
        }
    }

    #[test]
    fn an_address_is_typed_in_full_and_over_tls() {
        for fine in
            ["https://hooks.example.org/yard?x=1", "https://example.org", "https://[2606:4700::1]:8443/a"]
        {
            assert_eq!(address(fine, false).unwrap(), fine);
        }
        for wrong in [
            "",
            "http://example.org",
            "ftp://x",
            "https://",
            "https:///x",
            "https://a:b@example.org",
            "https://a b",
            "x",
        ] {
            assert!(address(wrong, false).is_err(), "{wrong}");
        }
        assert!(address("http://10.0.0.7:9000/x", true).is_ok());
        assert_eq!(host_of("https://hooks.example.org:8443/yard"), "hooks.example.org:8443");
    }
}
