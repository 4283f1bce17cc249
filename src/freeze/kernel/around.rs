//! Films, surroundings and draws, once an hour.

use super::super::film_fit::blend;
use super::super::lane::Lane;
use super::super::real::Real;
use super::super::setup::{Setup, Surround};
use super::masks::mark;
use super::state::Block;
use super::{LaneWeather, Lanes, ZERO_C_IN_K};
use crate::physics::film::STEFAN_BOLTZMANN_W_M2K4 as SIGMA;

impl<const W: usize, F: Real> Block<W, F> {
    /// Films, surroundings and draws of an hour.
    #[inline(always)]
    pub(super) fn renew_films(&mut self, setup: &Setup, weather: &LaneWeather<'_, W>, lanes: &Lanes<W>, hour: usize) {
        let air = Lane::of(&weather.air_c[hour]);
        let root_wind = weather.wind_m_s[hour].max(0.0).sqrt();
        let ratio = Lane::of(&weather.sky_ratio[hour]);
        let draw = setup.draw_w_per_k[usize::from(weather.hour_of_day[hour]) % 24];
        self.trace_on = mark(air, |air| air < F::of(setup.trace_on_below_c));
        self.draw = Lane::of(&lanes.draws) * F::of(draw) + F::of(setup.trickle_w_per_k);
        self.drawing = self.draw.any_above(F::ZERO);
        self.renew_node(setup, air, ratio);
        let open = setup.surround == Surround::Open;
        let near_c = if open { air } else { self.node_c };
        let zero_c_in_k = F::of(ZERO_C_IN_K);
        let near_k = near_c + zero_c_in_k;
        let sky_k = if open { near_k * ratio } else { near_k };
        let near2 = near_k * near_k;
        let sky2 = sky_k * sky_k;
        let sky_part = F::of(setup.sky_view * setup.emissivity * SIGMA);
        let near_part = F::of((1.0 - setup.sky_view) * setup.emissivity * SIGMA);
        let (root_shelter, trace_on) = (self.root_shelter, self.trace_on);
        for (i, part) in self.parts.iter_mut().enumerate() {
            let net_part = &setup.net.parts[i];
            let (film, outside) = if let Some(told) = setup.film_override_w_m2k {
                (Lane::all(F::of(told)), near_c)
            } else {
                let fit = &setup.films[setup.film_of[i]];
                let surface = part.surface_c;
                let mut convection = fit.free(surface - near_c);
                if open {
                    let forced = fit.forced(root_shelter * F::of(root_wind * setup.wind_factor[i].max(0.0).sqrt()));
                    convection = forced.with(convection, blend);
                }
                let surface_k = surface + zero_c_in_k;
                let surface2 = surface_k * surface_k;
                let to_sky = (surface2 + sky2) * (surface_k + sky_k) * sky_part;
                let to_near = (surface2 + near2) * (surface_k + near_k) * near_part;
                let film = convection + to_sky + to_near;
                // Between the two, nearer to the one that takes more.
                (film, near_c + to_sky * (sky_k - near_k) / film)
            };
            let insulation = part.insulation_m2k_per_w;
            let mut conductance = film * F::of(net_part.outside_area_m2);
            if insulation > F::ZERO {
                let share = film.map(|film| F::ONE / (F::ONE + insulation * film));
                conductance = conductance * share;
                part.surface_share = share;
            }
            part.film = film;
            part.outside_c = outside;
            part.outside_w_per_k = conductance;
            part.fixed_hour = conductance * outside + trace_on * part.trace_w + part.ground_w;
        }
    }

    /// How many steps the coming hour needs, out of `per_hour`: an hour in which no part, no surroundings and no air of any
    /// member comes near freezing, or near where its ice starts, has nothing to resolve but a slow approach.
    #[inline(always)]
    pub(super) fn steps_of_hour(&self, per_hour: usize, air: Lane<W, F>, starts_c: Lane<W, F>) -> usize {
        /// As warm as this throughout: one step an hour, °C (judgement; a test holds what it costs).
        const WARM_C: f64 = 5.0;
        /// As warm as this throughout: two steps an hour, °C (judgement).
        const COOL_C: f64 = 1.5;
        /// As far above the temperature at which ice starts throughout: half of the steps, K (judgement).
        const CLEAR_K: f64 = 1.0;
        if self.icy {
            return per_hour;
        }
        let lowest = self
            .parts
            .iter()
            .fold(air, |lowest, part| lowest.min(part.t).min(part.outside_c));
        if !lowest.any_below(F::of(WARM_C)) {
            1
        } else if !lowest.any_below(F::of(COOL_C)) {
            per_hour.min(2)
        } else if !(lowest - starts_c).any_below(F::of(CLEAR_K)) {
            per_hour.div_ceil(2).max(per_hour.min(2))
        } else {
            per_hour
        }
    }

    /// Surface between insulation and film at the end of an hour, for the next renewal of the film.
    #[inline(always)]
    pub(super) fn renew_surfaces(&mut self) {
        let shift = self.follow * self.air_shift;
        for part in &mut self.parts {
            let outside = part.outside_c + shift;
            part.surface_c = outside + (part.t - outside) * part.surface_share;
        }
    }

    /// The air node of a cover or enclosure, quasi-steady: the air's own heat capacity is nothing beside metal and water.
    #[inline(always)]
    fn renew_node(&mut self, setup: &Setup, air: Lane<W, F>, ratio: Lane<W, F>) {
        match setup.surround {
            Surround::Open => self.follow = Lane::all(F::ONE),
            Surround::Room { air_c } => {
                self.follow = Lane::all(F::ZERO);
                self.node_c = Lane::all(F::of(air_c));
            }
            Surround::Enclosed {
                out_w_per_k,
                ground_w_per_k,
                ground_c,
                heater_w,
                hold_c,
            } => {
                let mut sum = Lane::all(F::of(out_w_per_k + ground_w_per_k));
                // The roof sees the sky: an eighth of the difference reaches the mean outside (judgement: half the
                // shell sees it, against a film that is three quarters convection).
                let sky_drop = (air + F::of(ZERO_C_IN_K)) * ratio.map(|ratio| F::of(0.125) * (F::ONE - ratio));
                let mut heat = (air - sky_drop) * F::of(out_w_per_k) + F::of(ground_w_per_k * ground_c);
                for part in &self.parts {
                    sum += part.outside_w_per_k;
                    heat += part.outside_w_per_k * part.t;
                }
                let (heater_w, hold_c, out_w_per_k) = (F::of(heater_w), F::of(hold_c), F::of(out_w_per_k));
                for k in 0..W {
                    let unheated = heat.0[k] / sum.0[k];
                    let heated = unheated + heater_w / sum.0[k];
                    let on = heater_w > F::ZERO && unheated < hold_c;
                    self.node_c.0[k] = if on { heated.least(hold_c) } else { unheated };
                    self.follow.0[k] = if on && heated >= hold_c {
                        F::ZERO
                    } else {
                        out_w_per_k / sum.0[k]
                    };
                }
            }
        }
    }
}
