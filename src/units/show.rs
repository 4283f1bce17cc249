//! From SI to what people read, so that every room prints alike.
//!
//! Numbers are rounded to what a gauge or a tape can show; a value that is not finite prints as "unknown".

use super::{
    L_PER_US_GAL, M_PER_FT, M_PER_IN, M_S_PER_MPH, M2K_PER_W_PER_R_US, PA_PER_BAR, UnitSystem, W_M2K_PER_BTU,
    W_MK_PER_BTU_IN, W_PER_BTU_H, f_from_c, gal_from_l, psi_from_pa,
};

/// Fixed decimals, thousands commas from 10,000 up, never "-0".
fn fixed(value: f64, decimals: usize) -> String {
    // No instrument shows more than seven figures.
    if value.abs() >= 1e7 {
        return format!("{value:.2e}");
    }
    let mut text = format!("{value:.decimals$}");
    if text.starts_with('-') && text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.')) {
        text.remove(0);
    }
    let (sign, body) = match text.strip_prefix('-') {
        Some(body) => ("-", body.to_string()),
        None => ("", text.clone()),
    };
    let (whole, fraction) = match body.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (body.as_str(), None),
    };
    if whole.len() < 5 {
        return text;
    }
    let mut grouped = String::new();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    match fraction {
        Some(fraction) => format!("{sign}{grouped}.{fraction}"),
        None => format!("{sign}{grouped}"),
    }
}

/// About three significant figures, at least as many decimals as that takes, at most four.
fn three_figures(value: f64) -> String {
    let size = value.abs();
    let decimals = if size >= 100.0 {
        0
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else if size >= 0.1 || size == 0.0 {
        if size == 0.0 { 0 } else { 3 }
    } else {
        4
    };
    fixed(value, decimals)
}

fn show(value: f64, unit: &str, text: impl Fn(f64) -> String) -> String {
    if value.is_finite() {
        format!("{} {unit}", text(value))
    } else {
        "unknown".into()
    }
}

/// A temperature given in °C: "120 °F" or "48.9 °C".
pub fn show_temperature(celsius: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(f_from_c(celsius), "°F", |v| {
            fixed(
                v,
                if v.fract().abs() < 0.05 || v.fract().abs() > 0.95 {
                    0
                } else {
                    1
                },
            )
        }),
        UnitSystem::Si | UnitSystem::Bar => show(celsius, "°C", |v| fixed(v, 1)),
    }
}

/// A temperature difference given in K: "70 °F" or "38.9 K".
pub fn show_temperature_difference(kelvin: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(kelvin * 1.8, "°F", |v| fixed(v, if v.abs() < 100.0 { 1 } else { 0 })),
        UnitSystem::Si | UnitSystem::Bar => show(kelvin, "K", |v| fixed(v, 1)),
    }
}

/// A gauge pressure given in Pa: "60.0 psi", "414 kPa" or "4.14 bar".
pub fn show_gauge(pascal: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(psi_from_pa(pascal), "psi", |v| {
            fixed(v, if v.abs() < 1000.0 { 1 } else { 0 })
        }),
        UnitSystem::Si => show(pascal / 1e3, "kPa", |v| fixed(v, if v.abs() < 100.0 { 1 } else { 0 })),
        // A hundredth of a bar is a kilopascal: the same fineness in either unit.
        UnitSystem::Bar => show(pascal / PA_PER_BAR, "bar", |v| {
            fixed(
                v,
                if v.abs() < 1.0 {
                    3
                } else if v.abs() < 1000.0 {
                    2
                } else {
                    0
                },
            )
        }),
    }
}

/// A volume given in L: "2.14 gal" or "8.11 L".
pub fn show_volume(litre: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(gal_from_l(litre), "gal", three_figures),
        UnitSystem::Si | UnitSystem::Bar => show(litre, "L", three_figures),
    }
}

/// A least volume given in L: rounded up to three figures, so that whoever buys what is printed has enough.
pub fn show_volume_at_least(litre: f64, system: UnitSystem) -> String {
    let up = |value: f64| {
        if !(value > 0.0 && value.is_finite()) {
            return value;
        }
        let step = 10.0_f64.powf(value.log10().floor() - 2.0);
        // A thousandth of a step of slack keeps 2.00 from becoming 2.01 by rounding alone.
        (value / step - 1e-3).ceil() * step
    };
    match system {
        UnitSystem::Us => show_volume(up(gal_from_l(litre)) * L_PER_US_GAL, system),
        UnitSystem::Si | UnitSystem::Bar => show_volume(up(litre), system),
    }
}

/// A length or elevation given in m: "60.0 ft" or "18.3 m".
pub fn show_length(metre: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(metre / M_PER_FT, "ft", three_figures),
        UnitSystem::Si | UnitSystem::Bar => show(metre, "m", three_figures),
    }
}

/// A size or thickness given in m: "1.50 in" or "38.1 mm".
pub fn show_small_length(metre: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(metre / M_PER_IN, "in", three_figures),
        UnitSystem::Si | UnitSystem::Bar => show(metre * 1e3, "mm", three_figures),
    }
}

/// A wind speed given in m/s: "10 mph" or "4.5 m/s".
pub fn show_wind(m_s: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(m_s / M_S_PER_MPH, "mph", |v| fixed(v, 0)),
        UnitSystem::Si | UnitSystem::Bar => show(m_s, "m/s", |v| fixed(v, 1)),
    }
}

/// A heat input given in W: "40,000 Btu/h" or "11,723 W".
pub fn show_power(watt: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(watt / W_PER_BTU_H, "Btu/h", |v| fixed(v, 0)),
        UnitSystem::Si | UnitSystem::Bar => show(watt, "W", |v| fixed(v, 0)),
    }
}

/// A flow given in L/h: "0.50 gal/h" or "1.89 L/h".
pub fn show_flow(l_per_h: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(gal_from_l(l_per_h), "gal/h", three_figures),
        UnitSystem::Si | UnitSystem::Bar => show(l_per_h, "L/h", three_figures),
    }
}

/// A film coefficient given in W/(m²·K): "3.52 Btu/h·ft²·°F" or "20.0 W/m²K".
pub fn show_film(w_m2k: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(w_m2k / W_M2K_PER_BTU, "Btu/h·ft²·°F", three_figures),
        UnitSystem::Si | UnitSystem::Bar => show(w_m2k, "W/m²K", three_figures),
    }
}

/// A conductivity given in W/(m·K): "0.300 Btu·in/h·ft²·°F" or "0.0433 W/m·K".
pub fn show_conductivity(w_mk: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us => show(w_mk / W_MK_PER_BTU_IN, "Btu·in/h·ft²·°F", three_figures),
        UnitSystem::Si | UnitSystem::Bar => show(w_mk, "W/m·K", three_figures),
    }
}

/// A thermal resistance given in m²·K/W: "R-4.0" or "0.704 m²K/W".
pub fn show_r_value(m2k_per_w: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Us if m2k_per_w.is_finite() => format!("R-{}", fixed(m2k_per_w / M2K_PER_W_PER_R_US, 1)),
        UnitSystem::Us => "unknown".into(),
        UnitSystem::Si | UnitSystem::Bar => show(m2k_per_w, "m²K/W", three_figures),
    }
}
