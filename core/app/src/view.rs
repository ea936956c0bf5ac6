//! Views: one file a screen, each from the job as it stands ([`crate::now::Now`]) to what the screen shows.

pub mod arrival;
pub mod buying;
pub mod clash;
pub mod cut_list;
pub mod figures;
pub mod fold_out;
pub mod found;
pub mod handover;
pub mod head;
pub mod hello;
pub mod looked_at;
pub mod mark;
pub mod office;
pub mod outbox;
pub mod photo;
pub mod photos;
pub mod promise;
pub mod proof;
pub mod rivets;
pub mod roof_off;
pub mod shop_book;
pub mod steps;
pub mod waits;
pub mod ways;
pub mod yard;
