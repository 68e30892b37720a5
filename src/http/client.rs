//! Who asks, when a proxy stands in front: what a proxy adds is believed only of one that is trusted.

use std::net::IpAddr;

use actix_web::HttpRequest;
use ipnet::IpNet;

pub struct Client {
    pub address: Option<IpAddr>,
    /// As a trusted proxy named it.
    pub request_id: Option<String>,
}

/// The peer, or whom trusted proxies say they were asked by: the last address of `X-Forwarded-For` that is none of them.
pub fn client_of(req: &HttpRequest, proxies: &[IpNet]) -> Client {
    let peer = req.peer_addr().map(|a| a.ip().to_canonical());
    let is_proxy = |address: &IpAddr| proxies.iter().any(|net| net.contains(address));
    if !peer.as_ref().is_some_and(is_proxy) {
        return Client { address: peer, request_id: None };
    }
    let mut on_the_way = Vec::new();
    for line in req.headers().get_all("x-forwarded-for") {
        on_the_way.extend(line.to_str().unwrap_or_default().split(',').map(str::trim));
    }
    // Read from the nearest back. What is no address ends it: whoever stands behind it is not known.
    let mut address = peer;
    for named in on_the_way.iter().rev() {
        let Ok(named) = named.parse::<IpAddr>() else { break };
        address = Some(named.to_canonical());
        if !address.as_ref().is_some_and(is_proxy) {
            break;
        }
    }
    let request_id = req.headers().get("x-request-id").and_then(|v| v.to_str().ok());
    Client { address, request_id: request_id.filter(|id| is_plain(id)).map(str::to_owned) }
}

/// It goes into the log and into a header: nothing but letters, digits and what joins them.
fn is_plain(id: &str) -> bool {
    (1..=64).contains(&id.len()) && id.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::test::TestRequest;

    fn asked(peer: &str, forwarded: &[&str], id: &str) -> Client {
        let proxies: Vec<IpNet> = ["10.0.0.0/8", "::1/128"].iter().map(|n| n.parse().unwrap()).collect();
        let peer: IpAddr = peer.parse().unwrap();
        let mut req =
            TestRequest::default().peer_addr((peer, 4_000).into()).insert_header(("x-request-id", id));
        for line in forwarded {
            req = req.append_header(("x-forwarded-for", *line));
        }
        client_of(&req.to_http_request(), &proxies)
    }

    #[test]
    fn only_trusted_proxies_are_believed() {
        let address = |peer, forwarded: &[&str]| asked(peer, forwarded, "x").address.unwrap().to_string();
        assert_eq!(address("203.0.113.9", &["198.51.100.1"]), "203.0.113.9", "anybody can write a header");
        assert_eq!(address("10.0.0.1", &["198.51.100.1"]), "198.51.100.1");
        assert_eq!(
            address("::1", &["192.0.2.66, 198.51.100.1, 10.9.9.9"]),
            "198.51.100.1",
            "the nearest counts"
        );
        assert_eq!(address("10.0.0.1", &["192.0.2.66", "198.51.100.1"]), "198.51.100.1", "in two lines");
        assert_eq!(address("10.0.0.1", &["198.51.100.1, unknown, 10.2.2.2"]), "10.2.2.2");
        assert_eq!(address("10.0.0.1", &[]), "10.0.0.1");
        assert_eq!(address("::ffff:10.0.0.1", &["198.51.100.1"]), "198.51.100.1", "IPv4 as IPv6 writes it");
    }

    #[test]
    fn an_id_is_taken_from_a_proxy_when_it_is_plain() {
        let id = |peer, id: &str| asked(peer, &[], id).request_id;
        assert_eq!(id("10.0.0.1", "a-1.b_2").as_deref(), Some("a-1.b_2"));
        assert_eq!(id("203.0.113.9", "a-1"), None);
        assert_eq!(id("10.0.0.1", "a b"), None);
        assert_eq!(id("10.0.0.1", &"a".repeat(65)), None);
    }
}
