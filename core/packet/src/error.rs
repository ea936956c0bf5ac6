//! Why a paper did not come out.

/// Why a paper did not come out; its text is a sentence for a person.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A person stopped it.
    #[error("The packet was stopped; nothing of it is kept.")]
    Stopped,
    /// The PDF cannot be written; the cause is the writer's own words.
    #[error("The PDF cannot be written; the packet to read (HTML) has the same content.")]
    Pdf(String),
    /// The tables cannot be written.
    #[error("The tables cannot be written; the packet to read (HTML) has the same content.")]
    Table(String),
}

impl Error {
    /// Stable code for a program.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Stopped => "packet_stopped",
            Self::Pdf(_) => "packet_pdf",
            Self::Table(_) => "packet_table",
        }
    }
}
