//! Is the plumbing closed; how much does heated water need; how high without protection; tank,
//! relief and advice.
//!
//! The front door is [`assess`]: one [`System`] in, one [`Assessment`] out. Everything here is pure;
//! files, clocks and the command line stay outside.
//!
//! ```
//! use brimwater::expansion::{System, assess};
//! use brimwater::units::{L_PER_US_GAL, PA_PER_PSI, c_from_f};
//! let system = System::new(40.0 * L_PER_US_GAL, c_from_f(50.0), c_from_f(120.0), 60.0 * PA_PER_PSI);
//! let answer = assess(&system).unwrap();
//! // X-Val: 40 gal, 50 to 120 °F, 60 psi static, 80 psi limit needs 2.14 gal (IAPWS-IF97 densities, Boyle's law).
//! assert!((answer.tank.min_volume_l.unwrap() / L_PER_US_GAL - 2.1413).abs() < 0.005);
//! ```

pub mod advice;
pub mod advised;
pub mod assessment;
pub mod catalogue;
pub mod cautions;
mod check;
pub mod closed;
pub mod codes;
pub mod existing;
pub mod gauge;
pub mod lowering;
mod pipe_words;
pub mod pressure;
pub mod readings;
pub mod relief;
pub mod sensitivity;
pub mod supply;
pub mod system;
pub mod tank;
pub mod told;
pub mod volume;
pub mod words;

pub use advice::{Means, Step};
pub use assessment::{Assessment, Measure, assess, assess_without_sensitivity, judge};
pub use closed::ClosingDevice;
pub use existing::{ExistingTank, Verdict};
pub use supply::{Regulator, RegulatorState, Well};
pub use system::{Heater, HeaterKind, Piping, System};
pub use told::Told;
