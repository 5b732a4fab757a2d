//! The pairs of a neck while they are measured: one by one, so that another core can take some of them. Pairs of which neither
//! body changed are not measured again.
//!
//! What a pair measures depends on the job alone, whoever measures it and whatever was measured before: the same job has the same
//! list.

use std::sync::Arc;

use crate::checks::{
    Asked, Body, Group, Hole, Limits, Mechanism, PairMeasured, Placed, Relation, Scratch,
    measure_pair, relation,
};
use crate::geometry::distance::DistanceField;
use crate::job::Job;
use crate::parts::Assembly;

use super::Built;
use super::clearances::{
    Measured, Pairs, body, far_hole, limits, mechanism, on_undrilled, placed, through,
};

/// One measuring of all pairs.
#[derive(Debug)]
pub(super) struct Round {
    bodies: Vec<Arc<Built>>,
    /// The tube before it is drilled.
    undrilled: Arc<Built>,
    mechanism: Mechanism,
    limits: Limits,
    placed: Vec<(&'static str, Option<Placed>)>,
    through: Vec<Option<DistanceField>>,
    /// The places of the two bodies of each row.
    places: Vec<[usize; 2]>,
    /// In the order of `places`; none that is still to be measured.
    rows: Vec<Option<Measured>>,
    scratch: Scratch,
}

impl Round {
    /// Every unordered pair of bodies, in their order, with what stands of what was measured before.
    pub fn new(
        bodies: &[Arc<Built>],
        undrilled: &Arc<Built>,
        assembly: &Assembly,
        job: &Job,
        before: Option<&Pairs>,
    ) -> Self {
        let mechanism = mechanism(assembly, job);
        let count = bodies.len();
        let mut round = Self {
            placed: bodies
                .iter()
                .map(|built| (built.part.id, placed(built, assembly, job)))
                .collect(),
            through: bodies.iter().map(|body| through(body, &mechanism)).collect(),
            bodies: bodies.to_vec(),
            undrilled: undrilled.clone(),
            mechanism,
            limits: limits(job),
            places: (0..count).flat_map(|i| (i + 1..count).map(move |j| [i, j])).collect(),
            rows: Vec::new(),
            scratch: Scratch::default(),
        };
        round.rows = round.all_kept(before);
        round
    }

    /// How many rows there are.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Rows that are still to be measured.
    pub fn open(&self) -> impl Iterator<Item = usize> {
        self.rows.iter().enumerate().filter_map(|(row, known)| known.is_none().then_some(row))
    }

    /// Measures a pair by its row in the list.
    pub fn measure(&mut self, row: usize) {
        let Some(&places) = self.places.get(row) else { return };
        let mut scratch = std::mem::take(&mut self.scratch);
        let measured = self.measured(places, &mut scratch);
        self.scratch = scratch;
        self.rows[row] = Some(measured);
    }

    /// What was measured of a row: whether on the undrilled body, and what.
    pub fn found(&self, row: usize) -> Option<(bool, PairMeasured)> {
        let measured = self.rows.get(row)?.as_ref()?;
        Some((measured.on_undrilled, measured.found?))
    }

    /// Takes over what another core measured of a row that is still open.
    pub fn take(&mut self, row: usize, on_undrilled: bool, found: PairMeasured) {
        if let (Some(&places), Some(known @ None)) = (self.places.get(row), self.rows.get_mut(row))
        {
            let [a, b] = places.map(|place| self.bodies[place].clone());
            *known = Some(Measured { a, b, on_undrilled, found: Some(found) });
        }
    }

    /// All pairs, those that are still open measured now.
    pub fn finish(mut self) -> Pairs {
        let open: Vec<usize> = self.open().collect();
        for row in open {
            self.measure(row);
        }
        let Self { mechanism, placed, undrilled, rows, .. } = self;
        Pairs { mechanism, placed, undrilled, rows: rows.into_iter().flatten().collect() }
    }

    fn seen(&self, place: usize) -> Body<'_> {
        Body {
            placed: self.placed[place].1,
            through: self.through[place].as_ref(),
            ..body(&self.bodies[place], &self.undrilled, &self.mechanism)
        }
    }

    /// Which of a pair is drilled, and the hole the other keeps so far from that the undrilled body will do. Which of the two
    /// is asked depends on the job alone: whatever was measured before, the same job gets the same answer.
    fn drilled(&self, pair: &[Body<'_>; 2]) -> (Option<usize>, Option<Hole>) {
        let drilled = pair.iter().position(|body| body.undrilled);
        let hole = drilled.and_then(|own| far_hole(&pair[own], &pair[1 - own], &self.mechanism));
        (drilled, hole)
    }

    fn measured(&self, places: [usize; 2], scratch: &mut Scratch) -> Measured {
        let pair = places.map(|place| self.seen(place));
        let asked = {
            let [one, other] = &pair;
            let relation = relation(one.id, other.id, &self.limits);
            Asked {
                // Nobody asks what hands leave of joints, fits and seats.
                by_hand: relation == Relation::Free && !(one.keepout && other.keepout),
                // The spring is drawn stiff: how deep it would go says nothing.
                depths: relation != Relation::Seat,
            }
        };
        let ask = |pair: &[Body<'_>; 2], scratch: &mut Scratch| {
            measure_pair(&pair[0], &pair[1], &self.mechanism, asked, scratch)
        };
        let (drilled, hole) = self.drilled(&pair);
        let [a, b] = places.map(|place| self.bodies[place].clone());
        if let (Some(drilled), Some(hole)) = (drilled, hole) {
            let mut pair = pair;
            pair[drilled] = on_undrilled(&pair[drilled], &self.undrilled);
            let found = ask(&pair, scratch);
            if found.is_none_or(|found| hole.is_off(&found, drilled == 0)) {
                return Measured { a, b, on_undrilled: true, found };
            }
        }
        scratch.walked_undrilled = false;
        let mut found = ask(&pair, scratch);
        if let Some(drilled) = drilled.filter(|_| scratch.walked_undrilled) {
            let own = self.bodies[places[drilled]].samples();
            let mut pair = pair;
            pair[drilled] = Body { samples: own, undrilled: false, ..pair[drilled] };
            found = ask(&pair, scratch);
        }
        Measured { a, b, on_undrilled: false, found }
    }

    /// What was measured before and still stands, by row.
    fn all_kept(&self, before: Option<&Pairs>) -> Vec<Option<Measured>> {
        let rows = 0..self.places.len();
        let Some(pairs) = before else { return rows.map(|_| None).collect() };
        let before = Before::of(pairs, self);
        let seen: Vec<Body<'_>> = (0..self.bodies.len()).map(|place| self.seen(place)).collect();
        rows.map(|row| self.kept(row, &before, self.places[row].map(|place| seen[place]))).collect()
    }

    fn kept(&self, row: usize, before: &Before<'_>, pair: [Body<'_>; 2]) -> Option<Measured> {
        let places = self.places[row];
        let [a, b] = places.map(|place| self.bodies[place].clone());
        if let (Some(drilled), Some(hole)) = self.drilled(&pair) {
            let found = before.found(self, row, &pair, true)?;
            if found.is_none_or(|found| hole.is_off(&found, drilled == 0)) {
                return Some(Measured { a, b, on_undrilled: true, found });
            }
        }
        let found = before.found(self, row, &pair, false)?;
        Some(Measured { a, b, on_undrilled: false, found })
    }
}

/// What was measured before, and what of it may still stand.
struct Before<'a> {
    pairs: &'a Pairs,
    /// Whether key and horn turn as they did.
    key_alike: bool,
    horn_alike: bool,
    /// Of each body, whether it is placed as it was.
    placed_alike: Vec<bool>,
}

impl<'a> Before<'a> {
    fn of(pairs: &'a Pairs, round: &Round) -> Self {
        let (then, now) = (&pairs.mechanism, &round.mechanism);
        // Bodies are few: looking the old place up by its id costs nothing.
        let alike = |&(id, placed): &(&str, Option<Placed>)| pairs.placed_as(id) == placed;
        Self {
            pairs,
            key_alike: then.hinge == now.hinge && then.open_angle == now.open_angle,
            horn_alike: then.tenon == now.tenon && then.neck_turn == now.neck_turn,
            placed_alike: round.placed.iter().map(alike).collect(),
        }
    }

    /// Whether a pair is moved and placed as it was. Pairs of which nothing moves do not feel a
    /// change of the motion.
    fn stands(&self, places: [usize; 2], pair: &[Body<'_>; 2]) -> bool {
        let one_is = |group| (pair[0].group == group) != (pair[1].group == group);
        (self.key_alike || !one_is(Group::Key))
            && (self.horn_alike || !one_is(Group::Horn))
            && places.iter().all(|&place| self.placed_alike.get(place) == Some(&true))
    }

    /// What was measured of a pair, if it still stands.
    fn found(
        &self,
        round: &Round,
        row: usize,
        pair: &[Body<'_>; 2],
        on_undrilled: bool,
    ) -> Option<Option<PairMeasured>> {
        let places = round.places[row];
        if !self.stands(places, pair) {
            return None;
        }
        let undrilled_alike = Arc::ptr_eq(&self.pairs.undrilled, &round.undrilled);
        let is = |then: &Arc<Built>, now: usize| {
            // On the undrilled body it does not matter how the body is drilled.
            if on_undrilled && pair[now].undrilled {
                undrilled_alike && then.part.id == pair[now].id
            } else {
                Arc::ptr_eq(then, &round.bodies[places[now]])
            }
        };
        let same = |kept: &&Measured| {
            kept.on_undrilled == on_undrilled && is(&kept.a, 0) && is(&kept.b, 1)
        };
        let rows = &self.pairs.rows;
        // Both lists mostly run in the same order of bodies.
        let kept = rows.get(row).filter(same).or_else(|| rows.iter().find(same))?;
        Some(kept.found)
    }
}
