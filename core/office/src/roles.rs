//! Who may ask what at the office's door. A new kind of ask does not compile until it has its place here; the app
//! checks its own rules (who may release, who may overrule) behind this once more.

use bowseam_app::ask::Ask;
use bowseam_jobs::people::Person;

/// What an ask needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Nothing: it is asked before anyone has signed in.
    Nobody,
    /// Someone who is signed in.
    Person,
    /// A signed-in supervisor.
    Supervisor,
    /// It is a phone's and is not answered here.
    Phone,
}

/// What this ask needs at the office.
pub fn need(ask: &Ask) -> Need {
    match ask {
        Ask::Hello {} | Ask::SignIn { .. } | Ask::SignOut {} => Need::Nobody,
        Ask::Enrol { .. }
        | Ask::Outbox {}
        | Ask::TryNow {}
        | Ask::PhotosWait { .. }
        | Ask::WriteCard {}
        | Ask::ReadCardBack {}
        | Ask::Room {}
        | Ask::FreeRoom { .. }
        | Ask::Drafts { .. }
        | Ask::KeepDraft { .. } => Need::Phone,
        Ask::OfficeJobs { .. }
        | Ask::OfficeJob { .. }
        | Ask::GoAhead { .. }
        | Ask::PartSum { .. }
        | Ask::SendBack { .. }
        | Ask::Overrule { .. }
        | Ask::Looked { .. }
        | Ask::SetOffice { .. }
        | Ask::SetSublet { .. }
        | Ask::Reopen { .. }
        | Ask::People {}
        | Ask::SetPerson { .. }
        | Ask::SetSecret { .. }
        | Ask::EndPerson { .. }
        | Ask::Phones {}
        | Ask::NewCode { .. }
        | Ask::TakeBack { .. }
        | Ask::TakeIn { .. }
        | Ask::Learned {}
        | Ask::Learn { .. }
        | Ask::SetBook { .. }
        | Ask::SetCure { .. }
        | Ask::SetClosed { .. }
        | Ask::SetStock { .. } => Need::Supervisor,
        Ask::Yard { .. }
        | Ask::OpenJob { .. }
        | Ask::Arrival { .. }
        | Ask::SetArrival { .. }
        | Ask::SetRoll { .. }
        | Ask::FoldOut { .. }
        | Ask::SetPlan { .. }
        | Ask::SetLooked { .. }
        | Ask::PlaceAt { .. }
        | Ask::AddMark { .. }
        | Ask::Mark { .. }
        | Ask::SetMark { .. }
        | Ask::RemoveMark { .. }
        | Ask::AddPhoto { .. }
        | Ask::MovePhoto { .. }
        | Ask::SetPhotoView { .. }
        | Ask::RemovePhoto { .. }
        | Ask::Photo { .. }
        | Ask::Photos { .. }
        | Ask::SetPhotoScale { .. }
        | Ask::FindTarget { .. }
        | Ask::PairAligned { .. }
        | Ask::AlignPair { .. }
        | Ask::SizeFromPhoto { .. }
        | Ask::DrawOnPhoto { .. }
        | Ask::Ways { .. }
        | Ask::ChooseWay { .. }
        | Ask::ChooseWays { .. }
        | Ask::Figures { .. }
        | Ask::CompareFigures { .. }
        | Ask::CrewPlan { .. }
        | Ask::AskGoAhead { .. }
        | Ask::CutList { .. }
        | Ask::SetReserved { .. }
        | Ask::SetCut { .. }
        | Ask::KeepDrop { .. }
        | Ask::SetHoles { .. }
        | Ask::BuyingList { .. }
        | Ask::SetBuying { .. }
        | Ask::AddBuying { .. }
        | Ask::RemoveBuying { .. }
        | Ask::RoofOff { .. }
        | Ask::SetShelf { .. }
        | Ask::SetOnHand { .. }
        | Ask::SetRoofOff { .. }
        | Ask::OpenRoof { .. }
        | Ask::Steps { .. }
        | Ask::StepTime { .. }
        | Ask::StepDone { .. }
        | Ask::Measure { .. }
        | Ask::FindMore { .. }
        | Ask::FoundMore { .. }
        | Ask::RemoveFound { .. }
        | Ask::SetHold { .. }
        | Ask::SetNote { .. }
        | Ask::SetOnJob { .. }
        | Ask::Settle { .. }
        | Ask::Proof { .. }
        | Ask::SetProof { .. }
        | Ask::HandOver { .. }
        | Ask::Release { .. }
        | Ask::SetHandedOver { .. }
        | Ask::Packet { .. }
        | Ask::MakePacket { .. }
        | Ask::PacketProgress { .. }
        | Ask::StopPacket { .. }
        | Ask::Undo { .. }
        | Ask::ShopBook {} => Need::Person,
    }
}

/// Whether the office takes this person's decisions.
pub fn is_supervisor(person: &Person) -> bool {
    person.roles.contains(&bowseam_jobs::people::Role::Supervisor)
}
