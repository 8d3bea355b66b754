//! A request that has passed the guard, as a route gets it.
//!
//! Must not know HTTP's header lines. Start reading at [`Visit`].

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::Multipart;
use axum::http::StatusCode;
use chrono::{DateTime, Utc};
use model::ShopId;
use serde::de::DeserializeOwned;

use crate::access::Visitor;
use crate::app::App;
use crate::asked::Asked;
use crate::desk::{Aside, Desk, Shop};
use crate::problem::Problem;
use crate::view::Board;

/// A request.
pub struct Visit {
    pub(crate) app: Arc<App>,
    /// Who asks.
    pub(crate) who: Visitor,
    /// What stands in the path and behind the question mark.
    pub(crate) asked: Asked,
    /// The fields of a form.
    pub(crate) form: Asked,
    /// The body as it came, where it is no form.
    pub(crate) body: Bytes,
    /// The files of a form that brings some, behind its stamp.
    pub(crate) files: Option<Multipart>,
    /// The path, with what stands behind it.
    pub(crate) path: String,
    /// Where whoever asks is.
    pub(crate) peer: Option<std::net::IpAddr>,
}

impl Visit {
    /// The desk.
    pub fn desk(&self) -> &dyn Desk {
        &*self.app.desk
    }

    /// Now.
    pub fn now(&self) -> DateTime<Utc> {
        self.desk().now()
    }

    /// The shop that is asked for; where there is only one, it need not be.
    ///
    /// # Errors
    /// Where there is no such shop, or several and none is asked for.
    pub fn shop(&self) -> Result<Shop, Problem> {
        one_shop(&self.desk().shops(), self.asked.text("shop").or_else(|| self.form.text("shop")))
    }

    /// What is set aside, of all shops.
    ///
    /// # Errors
    /// Where the desk cannot say.
    pub async fn asides(&self) -> Result<BTreeMap<String, BTreeMap<String, Aside>>, Problem> {
        Ok(self.desk().asides().await?)
    }

    /// What was found of all shops, in order, with what is set aside.
    ///
    /// # Errors
    /// Where the desk cannot say.
    pub async fn boards(&self) -> Result<Vec<Arc<Board>>, Problem> {
        let asides = self.asides().await?;
        Ok(self.app.boards.now(self.desk().rounds(), asides, self.now()).await?)
    }

    /// The JSON body.
    ///
    /// # Errors
    /// Where it is not JSON, or not of that shape.
    pub fn json<T: DeserializeOwned>(&self) -> Result<T, Problem> {
        serde_json::from_slice(&self.body)
            .map_err(|error| Problem::bad(format!("the body is not what it should be: {error}")))
    }
}

fn one_shop(shops: &[Shop], asked: Option<&str>) -> Result<Shop, Problem> {
    let names = || shops.iter().map(|shop| shop.id.as_str()).collect::<Vec<_>>().join(", ");
    match (asked.map(ShopId::new), shops) {
        (None, [only]) => Ok(only.clone()),
        (None, _) => Err(Problem::bad(format!("there are several shops; say which with shop: {}", names()))),
        (Some(asked), shops) => shops.iter().find(|shop| shop.id == asked).cloned().ok_or_else(|| {
            Problem::new(
                StatusCode::NOT_FOUND,
                format!("there is no such shop; known are: {}", names()),
                "put the address right, or go back to the queue",
            )
        }),
    }
}
