//! Questions as they are put to a caller.

use super::l;
use crate::drip::line::Line;
use crate::drip::table::Question;

/// A question as it is put to the caller.
pub fn ask(question: Question) -> Line {
    match question {
        Question::Where => l(
            "Where does the water come out: from which part?",
            "¿Por dónde sale el agua: por cuál parte?",
        ),
        Question::Rate => l(
            "How long does it take to fill a cup?",
            "¿Cuánto tarda en llenarse una taza?",
        ),
        Question::When => l(
            "When does it drip: on cold nights, while the heater works, or all the time? Did it begin after work on the main or a thaw?",
            "¿Cuándo gotea: en noches frías, mientras trabaja el calentador o siempre? ¿Empezó después de trabajos en la tubería o del deshielo?",
        ),
        Question::Water => l(
            "Without touching it: is the water cold, warm, or is there steam?",
            "Sin tocarla: ¿el agua sale fría, tibia o con vapor?",
        ),
        Question::Air => l(
            "How cold is it outside right now?",
            "¿Qué temperatura hace afuera en este momento?",
        ),
        Question::Frost => l(
            "Has it been through a freeze since it last ran as usual?",
            "¿Ha pasado una helada desde la última vez que funcionó bien?",
        ),
        Question::Ice => l(
            "Is there ice on it, or does no water come at all?",
            "¿Tiene hielo, o no sale nada de agua?",
        ),
        Question::AfterTest => l("Was it tested in the last day?", "¿Lo probaron en el último día?"),
    }
}
