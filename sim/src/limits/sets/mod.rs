//! The named sets, one to a file.

mod contingency_stay;
mod mock_up;
mod sealed_refuge;
mod surface_sortie;

pub use contingency_stay::CONTINGENCY_STAY;
pub use mock_up::MOCK_UP;
pub use sealed_refuge::SEALED_REFUGE;
pub use surface_sortie::SURFACE_SORTIE;
