//! Bodies made as small as gzip can: the compression in front of every answer is the fastest, and for what goes over a
//! weak signal that is half as large again.

use std::io::Write;

use actix_web::http::header::{AcceptEncoding, CONTENT_ENCODING, Encoding, Header, HeaderValue, VARY};
use actix_web::{HttpRequest, HttpResponseBuilder};
use flate2::Compression;
use flate2::write::GzEncoder;

/// The body for whoever takes gzip with the headers that say so, or as it is.
pub fn smallest(req: &HttpRequest, answer: &mut HttpResponseBuilder, body: Vec<u8>) -> Vec<u8> {
    answer.insert_header((VARY, HeaderValue::from_static("accept-encoding")));
    if !takes_gzip(req) {
        return body;
    }
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    match gzip.write_all(&body).and_then(|()| gzip.finish()) {
        Ok(small) => {
            answer.insert_header((CONTENT_ENCODING, HeaderValue::from_static("gzip")));
            small
        }
        Err(_) => body,
    }
}

fn takes_gzip(req: &HttpRequest) -> bool {
    let known = [Encoding::gzip(), Encoding::identity()];
    AcceptEncoding::parse(req).is_ok_and(|wanted| wanted.negotiate(known.iter()) == Some(Encoding::gzip()))
}
