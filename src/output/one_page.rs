//! Pages of one sheet that look alike: the brief, and what manager and council get, before the season and in it.

use crate::faults::{Fault, Severity};
use minijinja::{Environment, UndefinedBehavior, Value};

/// The style that they share; a page includes it under this name.
const STYLE: (&str, &str) = ("one_page.css", include_str!("templates/one_page.css"));

/// Renders a page.
///
/// # Errors
/// `BW-O04` when it cannot be made.
pub fn render(name: &'static str, page: &'static str, values: Value) -> Result<String, Fault> {
    let failed = |error: minijinja::Error| {
        Fault::new("BW-O04", Severity::Fatal, format!("the page cannot be made: {error:#}")).file(name)
    };
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.add_template(STYLE.0, STYLE.1).map_err(failed)?;
    environment.add_template(name, page).map_err(failed)?;
    environment
        .get_template(name)
        .and_then(|template| template.render(values))
        .map_err(failed)
}
