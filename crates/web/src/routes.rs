//! All that can be asked for. A new page adds its own routes here.
//!
//! Must not know what they do. Start reading at [`routes`].

use crate::route::Route;
use crate::{api, assets, events, metrics, page};

/// The table.
pub fn routes() -> Vec<Route> {
    let all = [
        page::queue::routes(),
        page::asides::routes(),
        page::order::routes(),
        page::listings::routes(),
        page::listing::routes(),
        page::sending::routes(),
        page::sources::routes(),
        page::trial::routes(),
        page::trends::routes(),
        page::sign_in::routes(),
        api::routes(),
        events::routes(),
        metrics::routes(),
        assets::routes(),
    ];
    all.into_iter().flatten().collect()
}
