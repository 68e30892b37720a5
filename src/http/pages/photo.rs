//! One picture, for somebody who may see its machine.

use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use actix_web::{HttpResponse, web};

use super::Page;
use super::error::PageError;
use crate::domain::ids::PhotoId;
use crate::http::Site;
use crate::http::session::Signed;
use crate::workflow;

pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/photos/{id}", web::get().to(photo));
}

async fn photo(Signed(actor): Signed, id: web::Path<PhotoId>, site: web::Data<Site>) -> Page {
    let row = workflow::photo(&site.workshop, &actor, *id).await?;
    let bytes = site.photos.read(&row.sha256).await.map_err(PageError::Photo)?;
    // It never changes under its id, but only those who may see the machine may keep it.
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "image/jpeg"))
        .insert_header((CACHE_CONTROL, "private, max-age=86400, immutable"))
        .body(bytes))
}
