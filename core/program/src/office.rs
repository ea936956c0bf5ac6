//! An office on its own: on SQLite and a folder, or as one of any number of receivers on PostgreSQL and an S3 store.
//! Secrets come by the environment, where other programs of the machine do not read them.

use crate::{
    Ended, Serve, pages,
    serve::{At, OFFICE_LIST, folder, office_pages, run},
    yard,
};
use axum::{Router, response::Redirect, routing::get};
use bowseam_app::{
    answer::Refusal,
    app::{App, Kind},
    sending,
};
use bowseam_jobs::people::{Person, Role, hash_pin};
use bowseam_office::Office;
use bowseam_shared::{Objects, Shared};
use clap::Args;
use std::{net::IpAddr, path::PathBuf, sync::Arc};
use uuid::Uuid;

/// Where the office's data is shared by several receivers.
#[derive(Args, Clone)]
pub struct Places {
    /// PostgreSQL: postgres://USER@HOST/NAME?sslmode=require; the password in BOWSEAM_DATABASE_PASSWORD
    #[arg(long, requires = "photos")]
    database: Option<String>,
    /// S3-compatible store: s3://BUCKET/PREFIX?endpoint=https://HOST&region=REGION; the key in AWS_ACCESS_KEY_ID
    /// and AWS_SECRET_ACCESS_KEY
    #[arg(long, alias = "objects", requires = "database")]
    photos: Option<String>,
    /// Certificates (PEM) that the database's own is checked by; the usual ones if it is not given
    #[arg(long, requires = "database")]
    database_ca: Option<PathBuf>,
}

/// As `--photo-room` counts.
const GB: u64 = 1 << 30;

/// How an office serves.
#[derive(Args, Clone)]
pub struct Run {
    #[command(flatten)]
    serve: Serve,
    #[command(flatten)]
    places: Places,
    /// Address to listen at; others than loopback need a certificate or a proxy
    #[arg(long, default_value = "127.0.0.1")]
    listen: IpAddr,
    /// Certificate chain, PEM
    #[arg(long, requires = "key")]
    certificate: Option<PathBuf>,
    /// Its private key, PEM
    #[arg(long, requires = "certificate")]
    key: Option<PathBuf>,
    /// A proxy before this program does TLS
    #[arg(long)]
    behind_proxy: bool,
    /// What phones show as the office's name
    #[arg(long, default_value = "Office")]
    name: String,
    /// With a photo store: GB of this machine's disk for the photos used last; more are fetched again when they are asked for
    #[arg(long, value_name = "GB", default_value_t = bowseam_photos::ROOM / GB, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    photo_room: u64,
    /// Writes a line for each request on standard error: text, or json
    #[arg(long, value_parser = ["text", "json"])]
    log: Option<String>,
}

fn secret(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.trim().is_empty())
}

impl From<bowseam_shared::Error> for Ended {
    fn from(error: bowseam_shared::Error) -> Self {
        let code = if error.code() == "shared_address" { 2 } else { 1 };
        Self::with(code, error.to_string())
    }
}

impl Places {
    /// The shared places, if there are some.
    ///
    /// # Errors
    /// An address or key that cannot be used, or a place that does not answer.
    pub fn open(&self) -> Result<Option<Shared>, Ended> {
        let (Some(database), Some(photos)) = (&self.database, &self.photos) else {
            return Ok(None);
        };
        let (Some(key), Some(hidden)) = (secret("AWS_ACCESS_KEY_ID"), secret("AWS_SECRET_ACCESS_KEY")) else {
            let sentence = "The photo store needs its key in AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY.";
            return Err(Ended::with(2, sentence));
        };
        let objects = Objects::new(photos, &key, &hidden, secret("AWS_SESSION_TOKEN").as_deref())?;
        objects.check()?;
        let password = secret("BOWSEAM_DATABASE_PASSWORD");
        let shared = Shared::open(
            database,
            password.as_deref(),
            self.database_ca.as_deref(),
            objects,
        )?;
        Ok(Some(shared))
    }
}

fn log(form: Option<&str>) {
    let lines = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(false);
    match form {
        Some("json") => lines.json().flatten_event(true).with_target(false).init(),
        Some(_) => lines.with_target(false).init(),
        None => {}
    }
}

/// A new office has people to start with: on this machine alone those of the demo; where others reach it, one supervisor
/// whose PIN nobody can guess.
fn first_people(app: &App, private: bool) -> Result<(), Ended> {
    yard::settings(app)?;
    if private {
        yard::people(app, &yard::pin_hash()?)?;
        eprintln!(
            "A new office: its people are those of the demo, all with the PIN 1234, until the shop's own are entered."
        );
        return Ok(());
    }
    let pin = format!("{:012}", Uuid::new_v4().as_u128() % 1_000_000_000_000);
    let person = Person {
        id: Uuid::now_v7(),
        name: "First supervisor".into(),
        roles: [Role::Supervisor].into(),
        pin_hash: Some(hash_pin(&pin).map_err(Refusal::from)?),
        ..Person::default()
    };
    app.store().put_person(&person).map_err(Refusal::from)?;
    eprintln!(
        "A new office: sign in as \"First supervisor\" with the PIN {pin}, enter the shop's people, then end this one. It is said only once."
    );
    Ok(())
}

/// An office on its own.
pub fn office(asked: &Run) -> Result<(), Ended> {
    let tls = asked.certificate.clone().zip(asked.key.clone());
    let at = At::new(asked.listen, &asked.serve, tls, asked.behind_proxy)?;
    log(asked.log.as_deref());
    let (data, _temporary) = folder(asked.serve.data.as_deref())?;
    let app = match asked.places.open()? {
        None => App::open(&data, Kind::Office)?,
        Some(shared) => {
            let room = asked.photo_room.saturating_mul(GB);
            let (store, photos) = (
                shared.store(&data)?,
                shared.photos_in(&data.join("photos"), room)?,
            );
            App::over(&data, Kind::Office, store, photos)
        }
    };
    let app = Arc::new(app);
    if app.store().people().map_err(Refusal::from)?.is_empty() {
        first_people(&app, at.is_private())?;
    }
    sending::start_office(&app);
    let office = Office::new(app, &asked.name);
    let token = secret("BOWSEAM_METRICS_TOKEN");
    if token.is_some() || at.is_private() {
        office.show_metrics(token);
    }
    let router = Router::new()
        .merge(office_pages(office))
        .fallback(pages::screens)
        .route("/", get(|| async { Redirect::temporary(OFFICE_LIST) }));
    run(&at, router, |_| ())
}
