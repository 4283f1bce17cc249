//! The installation as a line drawing with the figures of the state that is advised: from the street over the last check to the heater,
//! with tank, relief and where each discharges. For the record; in our own plain lines.

use super::charts::{ChartError, INK, Ink, PRESSING, SOFT, Sheet, Side, WATER, sheet};
use crate::expansion::{Assessment, ClosingDevice, Measure, System, supply};
use crate::language::Tongue;
use crate::units::show_volume_at_least;

/// Across a printed page of 190 mm, so that letters of 13.8 units are of 10 pt.
const SIZE: (f64, f64) = (718.0, 190.0);
const TEXT: f64 = 13.8;
/// Height of the cold line.
const LINE: f64 = 112.0;
/// The floor.
const FLOOR: f64 = 182.0;

/// The drawing as SVG.
///
/// # Errors
/// When the backend refuses.
pub fn installation(system: &System, answer: &Assessment) -> Result<String, ChartError> {
    let tongue = system.tongue();
    let advised = answer.advised.as_deref().unwrap_or(system);
    let title = tongue.pick("The installation, once done", "La instalación, una vez hecha");
    let description = tongue.pick(
        "From the street on the left over regulator and last check to the heater on the right, with the tank or relief between.",
        "De la calle, a la izquierda, por la reductora y la última retención hasta el calentador, a la derecha, con el tanque o el alivio en medio.",
    );
    sheet(SIZE, title, description, |sheet| {
        let pen = Pen { sheet, tongue };
        pen.line(&[(16.0, LINE), (538.0, LINE)], WATER, 2.5)?;
        pen.street(system)?;
        if supply::has_regulator(advised) {
            pen.regulator(answer)?;
        }
        pen.last_check(advised, answer)?;
        pen.gauge(answer)?;
        match answer.recommendation.measure {
            Measure::Relief | Measure::LowerSupplyPressureThenRelief => pen.relief(advised)?,
            _ if !answer.as_advised.tanks.is_empty() => pen.tanks(answer)?,
            _ => {}
        }
        pen.heater(advised)
    })
}

/// Draws the pieces.
struct Pen<'a, 'b> {
    sheet: &'a Sheet<'b>,
    tongue: Tongue,
}

impl Pen<'_, '_> {
    fn line(&self, points: &[(f64, f64)], ink: Ink, width: f64) -> Result<(), ChartError> {
        self.sheet.line(points, ink, width)
    }

    /// Rows of text, the first at this height.
    fn rows(&self, rows: &[String], at: (f64, f64), side: Side) -> Result<(), ChartError> {
        for (row, text) in rows.iter().enumerate() {
            self.sheet
                .text(text, (at.0, at.1 + row as f64 * 15.5), side, TEXT, INK)?;
        }
        Ok(())
    }

    fn pick(&self, english: &str, spanish: &str) -> String {
        self.tongue.pick(english, spanish).to_string()
    }

    /// A valve in a line: two triangles whose tips meet; upright when the line rises.
    fn valve(&self, (x, y): (f64, f64), size: f64, upright: bool) -> Result<(), ChartError> {
        let turn = |(dx, dy): (f64, f64)| if upright { (x + dy, y + dx) } else { (x + dx, y + dy) };
        let corners = [
            (-size, -0.7 * size),
            (size, 0.7 * size),
            (size, -0.7 * size),
            (-size, 0.7 * size),
            (-size, -0.7 * size),
        ];
        self.line(&corners.map(turn), INK, 1.5)
    }

    fn ring(&self, (x, y): (f64, f64), radius: f64, ink: Ink) -> Result<(), ChartError> {
        let points: Vec<(f64, f64)> = (0..=32)
            .map(|step| {
                let angle = f64::from(step) / 32.0 * std::f64::consts::TAU;
                (x + radius * angle.cos(), y + radius * angle.sin())
            })
            .collect();
        self.line(&points, ink, 1.5)
    }

    /// An upright vessel with rounded ends.
    fn vessel(&self, (left, top): (f64, f64), (right, bottom): (f64, f64)) -> Result<(), ChartError> {
        let (middle, radius) = (0.5 * (left + right), 0.5 * (right - left));
        let bow = |from: f64, y: f64, depth: f64| -> Vec<(f64, f64)> {
            (0..=16)
                .map(|step| {
                    let angle = std::f64::consts::PI * (from + f64::from(step) / 16.0);
                    (middle + radius * angle.cos(), y + depth * angle.sin())
                })
                .collect()
        };
        let depth = 0.3 * radius;
        let mut outline = bow(1.0, top + depth, depth);
        outline.extend(bow(0.0, bottom - depth, depth));
        outline.push((left, top + depth));
        self.line(&outline, INK, 1.8)
    }

    /// A discharge pipe that ends above a receptor: the gap between is air.
    fn discharge(&self, points: &[(f64, f64)], gap_from: f64) -> Result<(), ChartError> {
        let x = points.last().map_or(0.0, |point| point.0);
        self.line(points, INK, 1.5)?;
        self.line(
            &[
                (x - 8.0, gap_from + 10.0),
                (x - 4.0, FLOOR),
                (x + 4.0, FLOOR),
                (x + 8.0, gap_from + 10.0),
            ],
            INK,
            1.5,
        )
    }

    fn street(&self, system: &System) -> Result<(), ChartError> {
        let name = if system.well.is_some() {
            self.pick("well", "pozo")
        } else {
            self.pick("street", "calle")
        };
        let pressure = system
            .street_gauge_pa
            .or(system.well.map(|well| well.cut_out_gauge_pa))
            .map(|pascal| self.tongue.gauge(pascal));
        self.line(&[(16.0, LINE - 9.0), (16.0, LINE + 9.0)], WATER, 3.0)?;
        let rows: Vec<String> = std::iter::once(name).chain(pressure).collect();
        self.rows(&rows, (14.0, LINE + 26.0), Side::Start)
    }

    fn regulator(&self, answer: &Assessment) -> Result<(), ChartError> {
        let x = 122.0;
        self.valve((x, LINE), 10.0, false)?;
        self.line(&[(x, LINE), (x, LINE - 14.0)], INK, 1.5)?;
        self.line(&[(x - 9.0, LINE - 14.0), (x + 9.0, LINE - 14.0)], INK, 1.5)?;
        let rows = [
            self.pick("regulator", "reductora"),
            self.tongue.gauge(answer.as_advised.static_gauge_kpa * 1e3),
        ];
        self.rows(&rows, (x, LINE + 26.0), Side::Middle)
    }

    /// The device that lets nothing back; a dashed ring where it is not known, words where there is none.
    fn last_check(&self, advised: &System, answer: &Assessment) -> Result<(), ChartError> {
        let x = 226.0;
        let holds = advised.closed_by.iter().find(|device| {
            matches!(
                device,
                ClosingDevice::BackflowAssembly
                    | ClosingDevice::CheckValve
                    | ClosingDevice::MeterCheck
                    | ClosingDevice::SoftenerWithCheck
            )
        });
        let name = match (holds, answer.closed.is_closed) {
            (Some(ClosingDevice::BackflowAssembly), _) => self.pick("assembly", "conjunto"),
            (Some(ClosingDevice::MeterCheck), _) => self.pick("meter check", "ret. medidor"),
            (Some(ClosingDevice::SoftenerWithCheck), _) => self.pick("softener", "suavizador"),
            (Some(_), _) => self.pick("check valve", "retención"),
            (None, None) => self.pick("check? trace", "¿retención?"),
            // The regulator alone closes it, and stands there already.
            (None, Some(true)) => return Ok(()),
            (None, Some(false)) => {
                let rows = [self.pick("no check found", "sin retención")];
                return self.rows(&rows, (x, LINE + 26.0), Side::Middle);
            }
        };
        if holds.is_some() {
            self.line(
                &[
                    (x - 9.0, LINE - 10.0),
                    (x - 9.0, LINE + 10.0),
                    (x + 9.0, LINE),
                    (x - 9.0, LINE - 10.0),
                ],
                INK,
                1.5,
            )?;
            self.line(&[(x + 9.0, LINE - 10.0), (x + 9.0, LINE + 10.0)], INK, 2.0)?;
        } else {
            self.ring((x, LINE), 11.0, PRESSING)?;
        }
        self.rows(
            &[self.pick("last check:", "última:"), name],
            (x, LINE + 26.0),
            Side::Middle,
        )
    }

    fn gauge(&self, answer: &Assessment) -> Result<(), ChartError> {
        let x = 306.0;
        let gauge = |kpa: f64| self.tongue.gauge(kpa * 1e3);
        let then = &answer.as_advised;
        self.line(&[(x, LINE), (x, LINE - 16.0)], INK, 1.5)?;
        self.ring((x, LINE - 27.0), 11.0, INK)?;
        self.line(&[(x, LINE - 27.0), (x + 6.0, LINE - 33.0)], INK, 1.5)?;
        let mut rows = vec![self.tongue.pick(
            format!("static {}", gauge(then.static_gauge_kpa)),
            format!("estática {}", gauge(then.static_gauge_kpa)),
        )];
        if let Some(end) = then.final_gauge_kpa {
            rows.push(
                self.tongue
                    .pick(format!("heated {}", gauge(end)), format!("caliente {}", gauge(end))),
            );
        }
        rows.push(self.tongue.pick(
            format!("limit {}", gauge(then.limit_gauge_kpa)),
            format!("límite {}", gauge(then.limit_gauge_kpa)),
        ));
        // Clear of the name of a relief on its right.
        self.rows(&rows, (x - 36.0, 18.0), Side::Middle)
    }

    /// Tank on the cold line with its valve, support and drain.
    fn tanks(&self, answer: &Assessment) -> Result<(), ChartError> {
        let x = 392.0;
        self.line(&[(x, LINE), (x, 78.0)], WATER, 2.0)?;
        self.valve((x, 96.0), 7.0, true)?;
        self.vessel((x - 19.0, 14.0), (x + 19.0, 78.0))?;
        // The diaphragm.
        self.line(
            &[(x - 19.0, 50.0), (x - 6.0, 56.0), (x + 6.0, 44.0), (x + 19.0, 50.0)],
            WATER,
            1.2,
        )?;
        // The support, to the wall.
        self.line(&[(x - 19.0, 32.0), (x - 34.0, 32.0)], INK, 1.5)?;
        self.line(&[(x - 34.0, 20.0), (x - 34.0, 44.0)], INK, 3.0)?;
        // The drain between valve and tank.
        self.line(&[(x, 85.0), (x + 22.0, 85.0), (x + 22.0, 94.0)], INK, 1.2)?;
        let tanks = &answer.as_advised.tanks;
        let new = matches!(
            answer.recommendation.measure,
            Measure::Tank | Measure::ReplaceExistingTank | Measure::LowerSupplyPressureThenTank
        );
        let volume = |litre: f64| {
            if new {
                show_volume_at_least(litre, self.tongue.units)
            } else {
                self.tongue.volume(litre)
            }
        };
        let together: f64 = tanks.iter().map(|tank| tank.volume_l).sum();
        let mut rows = vec![if tanks.len() > 1 {
            self.tongue.pick(
                format!("{} tanks, {}", tanks.len(), volume(together)),
                format!("{} tanques, {}", tanks.len(), volume(together)),
            )
        } else {
            self.tongue.pick(
                format!("tank {}", volume(together)),
                format!("tanque {}", volume(together)),
            )
        }];
        if let Some(kpa) = answer.as_advised.precharge_gauge_kpa {
            let precharge = self.tongue.gauge(kpa * 1e3);
            rows.push(self.pick("precharge", "precarga"));
            rows.push(match answer.as_advised.precharge_at_c {
                None => precharge,
                Some(celsius) => {
                    let at = self.tongue.temperature(celsius);
                    self.tongue
                        .pick(format!("{precharge} at {at}"), format!("{precharge} a {at}"))
                }
            });
        }
        self.rows(&rows, (x + 26.0, 24.0), Side::Start)?;
        let rows = [
            self.pick("valve left open,", "válvula abierta,"),
            self.pick("drain, support", "drenaje, soporte"),
        ];
        self.rows(&rows, (x, LINE + 26.0), Side::Middle)
    }

    /// A relief on the cold line in place of a tank.
    fn relief(&self, advised: &System) -> Result<(), ChartError> {
        let x = 392.0;
        self.line(&[(x, LINE), (x, 84.0)], WATER, 2.0)?;
        self.valve((x, 74.0), 9.0, true)?;
        self.discharge(&[(x, 65.0), (x, 56.0), (x + 52.0, 56.0), (x + 52.0, 150.0)], 152.0)?;
        let setting = self
            .tongue
            .gauge(advised.relief_at_gauge_pa.unwrap_or(advised.limit_gauge_pa));
        self.rows(
            &[self.pick("expansion relief", "alivio de expansión"), setting],
            (x + 14.0, 24.0),
            Side::Middle,
        )?;
        self.rows(
            &[self.pick("air gap", "espacio de aire")],
            (x + 38.0, LINE + 50.0),
            Side::End,
        )
    }

    fn heater(&self, advised: &System) -> Result<(), ChartError> {
        let (left, right, top) = (538.0, 616.0, 34.0);
        self.vessel((left, top), (right, FLOOR))?;
        self.line(
            &[(0.5 * (left + right), top), (0.5 * (left + right), 18.0), (690.0, 18.0)],
            PRESSING,
            2.0,
        )?;
        self.sheet
            .text(&self.pick("hot", "caliente"), (714.0, 30.0), Side::End, TEXT, SOFT)?;
        if advised.mixing_valve {
            self.valve((636.0, 18.0), 8.0, false)?;
        }
        let volume: f64 = advised.heaters.iter().map(|heater| heater.volume_l).sum();
        let mut rows = vec![self.pick("heater", "calentador")];
        if advised.heaters.len() > 1 {
            rows.push(format!("× {}", advised.heaters.len()));
        }
        rows.push(self.tongue.volume(volume));
        rows.push(self.tongue.temperature(advised.hot_c));
        self.rows(&rows, (0.5 * (left + right), 74.0), Side::Middle)?;
        // The temperature and pressure relief valve, its pipe down to an air gap.
        self.valve((right + 10.0, 56.0), 7.0, false)?;
        self.discharge(
            &[(right + 17.0, 56.0), (right + 34.0, 56.0), (right + 34.0, 150.0)],
            152.0,
        )?;
        let rows = [
            self.pick("relief", "alivio"),
            self.tongue.gauge(advised.heater_relief_gauge_pa),
            self.tongue.temperature(advised.heater_relief_c),
        ];
        self.rows(&rows, (right + 42.0, 72.0), Side::Start)?;
        self.line(&[(480.0, FLOOR), (714.0, FLOOR)], SOFT, 1.0)
    }
}
