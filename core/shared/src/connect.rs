//! Connections to PostgreSQL: a few that are kept and made anew when they broke, each with limits on how long anything
//! may wait; and the tables, brought up to date under an advisory lock by whichever receiver starts first.

use crate::{Error, Result};
use postgres::{
    Client, Config,
    config::{Host, SslMode},
};
use rustls::{ClientConfig, RootCertStore, pki_types::CertificateDer, pki_types::pem::PemObject};
use std::{
    fmt,
    path::Path,
    sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError},
    time::Duration,
};
use tokio_postgres_rustls::MakeRustlsConnect;

/// Connections of one receiver beside that of its log.
const MOST: usize = 6;
/// So long somebody waits for a free one.
const PATIENCE: Duration = Duration::from_secs(10);
/// Nobody waits longer for another receiver's lock, for an answer, or holds a lock without working on.
const LIMITS: &str = "SET lock_timeout = '10s'; SET statement_timeout = '30s';
    SET idle_in_transaction_session_timeout = '20s';
    SELECT set_config('synchronous_commit', 'on', false) WHERE current_setting('synchronous_commit') = 'off'";
/// Key of the advisory lock for tables; that for writing is [`crate::log::LOCK`].
const TABLES: i64 = 0x626f_7773_0001;
const SCHEMA: &[&str] = &[include_str!("../schema/v1.sql")];

/// One connection.
pub struct Link {
    pub client: Client,
}

/// How to connect, and the connections that are free.
pub struct Pool {
    config: Config,
    tls: MakeRustlsConnect,
    /// `None`: may be made.
    free: Mutex<Vec<Option<Link>>>,
    given_back: Condvar,
}

impl fmt::Debug for Pool {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // No password.
        write!(f, "Pool of {:?}", self.config.get_dbname())
    }
}

fn roots(ca: Option<&Path>) -> Result<RootCertStore> {
    let mut roots = RootCertStore::empty();
    let Some(file) = ca else {
        roots.extend(webpki_roots::TLS_SERVER_ROOTS.iter().cloned());
        return Ok(roots);
    };
    let wrong = |why: String| {
        Error::Address(format!(
            "The certificates in {} cannot be used: {why}.",
            file.display()
        ))
    };
    for one in CertificateDer::pem_file_iter(file).map_err(|e| wrong(e.to_string()))? {
        let one = one.map_err(|e| wrong(e.to_string()))?;
        roots.add(one).map_err(|e| wrong(e.to_string()))?;
    }
    Ok(roots)
}

/// Whether nothing between here and there can be read by others.
fn is_here(host: &Host) -> bool {
    match host {
        Host::Tcp(name) => matches!(name.as_str(), "localhost" | "127.0.0.1" | "::1"),
        #[cfg(unix)]
        Host::Unix(_) => true,
    }
}

impl Pool {
    /// Nothing is reached yet.
    pub fn new(database: &str, password: Option<&str>, ca: Option<&Path>) -> Result<Self> {
        let mut config: Config = database.parse().map_err(|_| {
            Error::Address("The database is given as postgres://USER@HOST/NAME, with ?sslmode=require where it is on another machine.".into())
        })?;
        if let Some(password) = password {
            config.password(password);
        }
        let here = config.get_hosts().iter().all(is_here);
        if !here && config.get_ssl_mode() != SslMode::Require {
            return Err(Error::Address("The database is on another machine, and what goes there could be read on the way: add sslmode=require to its address.".into()));
        }
        config
            .application_name("bowseam")
            .connect_timeout(Duration::from_secs(5))
            .tcp_user_timeout(Duration::from_secs(20))
            .keepalives_idle(Duration::from_secs(30));
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let tls = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .map_err(|e| Error::Address(format!("TLS cannot be used here: {e}.")))?
            .with_root_certificates(roots(ca)?)
            .with_no_client_auth();
        Ok(Self {
            config,
            tls: MakeRustlsConnect::new(tls),
            free: Mutex::new(std::iter::repeat_with(|| None).take(MOST).collect()),
            given_back: Condvar::new(),
        })
    }

    /// A new connection.
    pub fn connect(&self) -> std::result::Result<Client, postgres::Error> {
        let mut client = self.config.connect(self.tls.clone())?;
        client.batch_execute(LIMITS)?;
        Ok(client)
    }

    fn slots(&self) -> MutexGuard<'_, Vec<Option<Link>>> {
        self.free.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn take(&self) -> Result<Option<Link>> {
        let (mut free, waited) = self
            .given_back
            .wait_timeout_while(self.slots(), PATIENCE, |free| free.is_empty())
            .unwrap_or_else(PoisonError::into_inner);
        match free.pop() {
            Some(slot) => Ok(slot),
            None => Err(Error::Away(match waited.timed_out() {
                true => "all connections are busy".into(),
                false => "no connection is free".into(),
            })),
        }
    }

    /// Works with a connection. What breaks with it is tried once more on a new one, so it must bear being done twice.
    pub fn with<T>(&self, mut work: impl FnMut(&mut Link) -> Result<T>) -> Result<T> {
        let mut slot = self.take()?;
        let had = slot.is_some();
        let mut done = self.once(&mut slot, &mut work);
        if done.is_err() && had && slot.is_none() {
            done = self.once(&mut slot, &mut work);
        }
        self.slots().push(slot);
        self.given_back.notify_one();
        done
    }

    /// Leaves a slot without a connection where it broke.
    fn once<T>(&self, slot: &mut Option<Link>, work: &mut impl FnMut(&mut Link) -> Result<T>) -> Result<T> {
        let mut link = match slot.take() {
            Some(link) => link,
            None => Link {
                client: self.connect()?,
            },
        };
        let done = work(&mut link);
        if !link.client.is_closed() {
            *slot = Some(link);
        }
        done
    }
}

/// Brings the tables up to date. Two receivers that start at once do it one after the other.
pub fn migrate(link: &mut Link) -> Result<()> {
    let mut tx = link.client.transaction()?;
    tx.execute("SELECT pg_advisory_xact_lock($1)", &[&TABLES])?;
    tx.batch_execute("CREATE TABLE IF NOT EXISTS bowseam_schema (version integer NOT NULL)")?;
    let version: i32 = tx
        .query_one("SELECT coalesce(max(version), 0) FROM bowseam_schema", &[])?
        .get(0);
    let done = usize::try_from(version).unwrap_or_default();
    if done > SCHEMA.len() {
        return Err(Error::Newer);
    }
    for (n, sql) in SCHEMA.iter().enumerate().skip(done) {
        tx.batch_execute(sql)?;
        let version = i32::try_from(n.saturating_add(1)).unwrap_or(i32::MAX);
        tx.execute("INSERT INTO bowseam_schema (version) VALUES ($1)", &[&version])?;
    }
    Ok(tx.commit()?)
}
