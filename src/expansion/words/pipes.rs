//! Pipes that cannot be read.

use super::slips::Told;
use crate::language::Tongue;

const PIPE_EXPECTED: [&str; 2] = [
    "family, size and length, such as \"copper-L 3/4 in 60 ft\"; families: copper-K, copper-L, copper-M, steel-40, PVC-40, CPVC, PEX, brass, ductile-iron",
    "tipo, diámetro y longitud, como \"copper-L 3/4 in 60 ft\"; tipos: copper-K, copper-L, copper-M, steel-40, PVC-40, CPVC, PEX, brass, ductile-iron",
];

/// Why a pipe cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(missing_docs, reason = "the sentences below say what each is")]
pub enum OfPipe {
    NoPipe,
    UnknownPipe {
        family: String,
    },
    PipeWithoutLength {
        length: String,
    },
    NoSuchPipeSize {
        family: String,
        size: String,
        sizes: String,
    },
    UnreadPipe,
}

impl OfPipe {
    /// What is wrong, what was expected, what to do.
    pub(super) fn told(&self, tongue: Tongue) -> Told {
        let piping = |english: String, spanish: String| {
            let expected = tongue.pick(PIPE_EXPECTED[0], PIPE_EXPECTED[1]);
            [tongue.pick(english, spanish), expected.to_string(), String::new()]
        };
        match self {
            OfPipe::NoPipe => piping("no pipe was told".into(), "no se dijo ningún tubo".into()),
            OfPipe::UnknownPipe { family } => piping(
                format!("the pipe family {family:?} is not known"),
                format!("no se conoce el tipo de tubo {family:?}"),
            ),
            OfPipe::PipeWithoutLength { length } => piping(
                format!("a length of {length:?} is not above zero"),
                format!("una longitud de {length:?} no es mayor que cero"),
            ),
            OfPipe::NoSuchPipeSize { family, size, sizes } => piping(
                format!("{family} is not made in {size}; sizes in inches: {sizes}"),
                format!("{family} no se hace en {size}; diámetros en pulgadas: {sizes}"),
            ),
            OfPipe::UnreadPipe => piping(
                "the size or the length cannot be read".into(),
                "no se puede leer el diámetro o la longitud".into(),
            ),
        }
    }
}
