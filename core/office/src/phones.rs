//! What a phone asks besides sending: to be made known with a code, and what it needs to know of the shop.

use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::header::AUTHORIZATION;
use axum::http::{HeaderMap, StatusCode};
use bowseam_send::codes::{self, Phone};
use bowseam_send::wire::{self, Enrol, Enrolled, Shop};
use chrono::Utc;

use crate::no::beside;
use crate::{No, Office};

/// Setting of the office's store with the shop book for phones.
const BOOK: &str = "shop_book";
/// Setting of the office's store with the stock list for phones.
const STOCK: &str = "stock";

/// Trades a short-lived code for a token.
pub async fn enrol(
    State(office): State<Office>,
    asked: Result<Json<Enrol>, JsonRejection>,
) -> Result<Json<Enrolled>, No> {
    let asked = read(asked)?;
    beside(move || {
        let token = codes::redeem(
            &office.0.store,
            &asked.code,
            asked.device,
            &asked.name,
            Utc::now(),
        )?;
        Ok(Json(Enrolled {
            token,
            shop: office.shop()?,
        }))
    })
    .await
}

/// The office is here and knows this phone.
pub async fn here(State(office): State<Office>, headers: HeaderMap) -> Result<StatusCode, No> {
    known(&office, &headers).await.map(|_| StatusCode::NO_CONTENT)
}

/// People, shop book and stock list.
pub async fn shop(State(office): State<Office>, headers: HeaderMap) -> Result<Json<Shop>, No> {
    phone(&office, &headers).await?;
    beside(move || Ok(Json(office.shop()?))).await
}

/// The phone that sends this, by its token; one that was taken back gets nothing.
pub async fn phone(office: &Office, headers: &HeaderMap) -> Result<Phone, No> {
    let phone = known(office, headers).await?;
    if phone.revoked() {
        return Err(No::forbidden("taken_back", wire::TAKEN_BACK));
    }
    Ok(phone)
}

/// The phone that sends this, also one that was taken back: what it sends is kept apart.
pub async fn known(office: &Office, headers: &HeaderMap) -> Result<Phone, No> {
    let header = headers.get(AUTHORIZATION).and_then(|header| header.to_str().ok());
    let token = header
        .and_then(|header| header.strip_prefix("Bearer "))
        .ok_or_else(No::stranger)?
        .to_owned();
    let office = office.clone();
    beside(move || {
        office.0.store.refresh()?;
        let phone = codes::phone_of(&office.0.store, &token)?.ok_or_else(No::stranger)?;
        codes::heard(&office.0.store, &phone, Utc::now())?;
        Ok(phone)
    })
    .await
}

impl Office {
    /// What a phone needs to know of the shop.
    pub(crate) fn shop(&self) -> Result<Shop, No> {
        let inside = &self.0;
        Ok(Shop {
            office_name: inside.name.clone(),
            people: inside.store.people()?,
            book: inside.store.setting(BOOK)?.unwrap_or_default(),
            stock: inside.store.setting(STOCK)?.unwrap_or_default(),
        })
    }
}

/// A JSON body, or a sentence that says what was wrong with it.
pub fn read<T>(body: Result<Json<T>, JsonRejection>) -> Result<T, No> {
    body.map(|Json(body)| body)
        .map_err(|wrong| No::new(wrong.status(), "message", wrong.body_text()))
}
