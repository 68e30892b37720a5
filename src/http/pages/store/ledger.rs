//! The ledger as a file for a spreadsheet.

use actix_web::{HttpResponse, web};
use chrono::SecondsFormat;

use crate::domain::money;
use crate::domain::store::Quantity;
use crate::http::Site;
use crate::http::csv::{Cell, Sheet};
use crate::http::pages::error::PageError;
use crate::http::session::Signed;
use crate::words::Lang;
use crate::workflow;

/// Lines of one file.
const MOST: i64 = 100_000;

pub async fn csv(Signed(actor): Signed, site: web::Data<Site>) -> Result<HttpResponse, PageError> {
    let rows = workflow::stock_ledger(&site.workshop, &actor, None, MOST).await?;
    let mut sheet = Sheet::new(&[
        "at",
        "yard",
        "part number",
        "part",
        "unit",
        "movement",
        "quantity",
        "value",
        "currency",
        "reason",
        "other yard",
        "work order",
        "by",
        "note",
    ]);
    for m in rows {
        sheet.row([
            Cell::Figure(m.at.to_rfc3339_opts(SecondsFormat::Secs, true)),
            Cell::Text(m.yard_name),
            Cell::Text(m.part_number),
            Cell::Text(m.part_name),
            Cell::Text(m.unit),
            Cell::from(m.kind.as_str()),
            Cell::Figure(Quantity::signed(m.quantity)),
            Cell::Figure(money::shown(m.value_minor, "").trim().to_owned()),
            Cell::from(site.workshop.currency.as_ref()),
            Cell::from(m.reason.map(|r| r.as_str()).unwrap_or_default()),
            Cell::Text(m.other_yard_name.unwrap_or_default()),
            Cell::Text(m.work_order_id.map(|o| o.to_string()).unwrap_or_default()),
            Cell::Text(m.by_name),
            Cell::Text(m.note.in_lang(Lang::En).to_owned()),
        ]);
    }
    Ok(sheet.into_response("store-ledger.csv"))
}
