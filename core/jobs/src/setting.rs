//! Settings: what a store keeps beside its jobs, each under a key, as JSON.

use crate::store::{Result, Store};
use rusqlite::{Connection, OptionalExtension, params};
use serde::{Serialize, de::DeserializeOwned};

impl Store {
    /// A setting; `None` if it was never set.
    pub fn setting<T: DeserializeOwned>(&self, key: &str) -> Result<Option<T>> {
        self.read(|conn, _| {
            let mut statement = conn.prepare_cached("SELECT json FROM setting WHERE key = ?1")?;
            let json: Option<String> = statement.query_row([key], |row| row.get(0)).optional()?;
            Ok(json.map(|json| serde_json::from_str(&json)).transpose()?)
        })
    }

    /// Reads a setting, changes it and writes it back, with nobody in between; what the change answers. The change must
    /// not use this store.
    pub fn change_setting<T, R>(&self, key: &str, change: impl FnOnce(&mut T) -> R) -> Result<R>
    where
        T: Default + Serialize + DeserializeOwned,
    {
        let done = self.try_change_setting(key, |value| Ok::<_, std::convert::Infallible>(change(value)))?;
        Ok(match done {
            Ok(done) => done,
            Err(never) => match never {},
        })
    }

    /// The same for a change that may refuse: then nothing is written.
    pub fn try_change_setting<T, R, E>(
        &self,
        key: &str,
        change: impl FnOnce(&mut T) -> std::result::Result<R, E>,
    ) -> Result<std::result::Result<R, E>>
    where
        T: Default + Serialize + DeserializeOwned,
    {
        self.write(|tx, _| {
            let json: Option<String> = tx
                .prepare_cached("SELECT json FROM setting WHERE key = ?1")?
                .query_row([key], |row| row.get(0))
                .optional()?;
            let mut value = json
                .as_deref()
                .map(serde_json::from_str)
                .transpose()?
                .unwrap_or_default();
            let done = change(&mut value);
            if done.is_ok() {
                put_setting(tx, key, &serde_json::to_string(&value)?)?;
            }
            Ok(done)
        })
    }

    /// Sets a setting.
    pub fn set_setting<T: Serialize>(&self, key: &str, value: &T) -> Result<()> {
        let json = serde_json::to_string(value)?;
        self.write(|tx, _| put_setting(tx, key, &json))
    }
}

fn put_setting(tx: &Connection, key: &str, json: &str) -> Result<()> {
    tx.prepare_cached(
        "INSERT INTO setting (key, json) VALUES (?1, ?2) ON CONFLICT DO UPDATE SET json = excluded.json",
    )?
    .execute(params![key, json])?;
    Ok(())
}
