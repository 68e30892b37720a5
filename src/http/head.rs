//! HEAD is GET without the body (RFC 9110, 9.3.2), and every server has both (9.1). It is made a GET before the address is
//! looked up, so that no page has to know of it; whoever writes the answer out leaves the body away, for it still knows what
//! was asked.

use actix_web::Error;
use actix_web::body::{BodySize, EitherBody, MessageBody, None};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::middleware::Next;

pub async fn as_get<B: MessageBody>(
    mut req: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B, None>>, Error> {
    if req.method() != Method::HEAD {
        return Ok(next.call(req).await?.map_into_left_body());
    }
    req.head_mut().method = Method::GET;
    let answer = next.call(req).await?;
    // One whose length is not known is written while it is sent, and the stream of changes never ends.
    Ok(match answer.response().body().size() {
        BodySize::Stream => answer.map_body(|_, _| EitherBody::right(None::new())),
        _ => answer.map_into_left_body(),
    })
}
