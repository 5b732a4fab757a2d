//! A lay that gets better step by step: the most pieces from one sheet, the fewest sheets, or the shortest strip.
//!
//! First all pieces are put in one by one ([`Filling`]), so that there is a lay at once. From then on each step is one round of
//! a [`Crowd`]. A strip is then begun several times more from pieces thrown anywhere, and the shortest of all is gone on with: which
//! pieces lie beside which is settled early, and rarely well. Once all pieces lie clear, they are pushed together on a strip, and
//! the task is made harder: a shorter strip, or a piece more on the sheet. All sheets but the last are laid alike. Where a crowd
//! does not come loose, two pieces of the best lay change places, or one is thrown elsewhere, and it is tried again; where it
//! nearly did on a strip, the strip is first made a little longer again. The same seed and the same number of steps give the same
//! lay.

use glam::DVec2;

use super::crowd::{Crowd, Place, Rules, Shapes, below, laid};
use super::filling::Filling;
use super::ground::Ground;
use super::nests::{Nests, SPARE};
use super::shape::bounds;

/// Rounds without a better result after which a crowd is given up.
const PATIENCE: usize = 40;

/// A crowding less than this share of the best before is better.
const BETTER: f64 = 0.98;

/// Shares by which a strip is made shorter: at first, and after every so many failures the next.
const SHORTER: [f64; 4] = [0.02, 0.01, 0.004, 0.0015];
const FAILURES: usize = 2;

/// A crowd on a strip whose overlap came below this nearly came loose, mm²: once, it is given more room.
const NEARLY: f64 = 5.0;

/// How full of pieces a strip is to begin with.
const LOOSE: f64 = 0.58;

/// Pieces put in by one step to begin with, at most.
const AT_ONCE: usize = 20;

/// How often pieces that were put in are moved apart where a hair is missing.
const MENDING: usize = 5;

/// How often a strip is begun from pieces anywhere, and rounds that each of these starts is given.
const STARTS: usize = 3;
const START: u64 = 300;

/// Shares by which the pieces of a strip are pushed together at first and at last.
const PUSHED: (f64, f64) = (0.016, 0.0008);

/// What is wanted of a lay.
#[derive(Clone, Debug)]
pub enum Aim {
    /// As many pieces from one sheet as go on it, at most those asked for.
    Most { ground: Ground },
    /// All pieces, on as few sheets as can be.
    Fewest { ground: Ground },
    /// All pieces from the shortest piece of strip of this width, mm.
    Shortest { width: f64 },
}

impl Aim {
    /// The sheet; none for a strip.
    #[must_use]
    pub fn ground(&self) -> Option<&Ground> {
        match self {
            Self::Most { ground } | Self::Fewest { ground } => Some(ground),
            Self::Shortest { .. } => None,
        }
    }

    /// Size of the box round the sheet, or of so much strip, mm.
    #[must_use]
    pub fn size(&self, strip_length: f64) -> DVec2 {
        match self {
            Self::Most { ground } | Self::Fewest { ground } => {
                let (low, high) = ground.bounds();
                high - low
            }
            Self::Shortest { width } => DVec2::new(strip_length, *width),
        }
    }
}

/// Pieces that lie clear on their sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct Lay {
    /// Of each sheet its pieces: which of those asked for, and where.
    pub sheets: Vec<Vec<(usize, Place)>>,
    /// Length of strip used, mm; none on sheets.
    pub length: Option<f64>,
}

/// A lay in the making.
#[derive(Clone, Debug)]
pub struct Laying {
    shapes: Shapes,
    nests: Nests,
    rules: Rules,
    aim: Aim,
    /// The shape of each piece asked for.
    pieces: Vec<usize>,
    best: Option<Lay>,
    /// The pieces put in so far, until all are that find a place.
    filling: Option<Vec<Place>>,
    /// The pieces of the fullest sheet, or of the shortest strip of this start.
    clear: Vec<(usize, Place)>,
    /// Length of that strip, mm.
    shortest: Option<f64>,
    /// Number of the start, that of the pieces put in is 0, and the step it was made at.
    start: (usize, u64),
    /// What came of the starts before.
    starts: Vec<(f64, Vec<(usize, Place)>)>,
    /// Those that are being laid.
    trying: Vec<usize>,
    crowd: Crowd,
    /// Of the strip that is tried, and of one to begin with, mm.
    length: f64,
    loose: f64,
    lowest: f64,
    /// Where the pieces lay then.
    nearest: Vec<Place>,
    /// Whether this crowd was given more room.
    eased: bool,
    stale: usize,
    failures: usize,
    steps: u64,
    finished: bool,
    random: fastrand::Rng,
}

impl Laying {
    /// Starts to lay pieces, given by their shapes.
    #[must_use]
    pub fn new(shapes: Shapes, pieces: Vec<usize>, rules: Rules, aim: Aim, seed: u64) -> Self {
        let area: f64 = pieces.iter().map(|&shape| shapes.all[shape].area).sum();
        let (ground, length) = match &aim {
            Aim::Most { ground } | Aim::Fewest { ground } => (ground.clone(), 0.0),
            Aim::Shortest { width } => {
                let longest =
                    pieces.iter().map(|&shape| shapes.all[shape].reach).fold(0.0, f64::max);
                let length = (area / width / LOOSE).max(2.0 * (longest + rules.margin));
                (Ground::Rectangle { size: DVec2::new(length, *width) }, length)
            }
        };
        let crowd = Crowd::new(ground, rules, Vec::new(), seed);
        let nests = Nests::of(&shapes, rules);
        Self {
            shapes,
            nests,
            rules,
            aim,
            pieces,
            best: None,
            filling: Some(Vec::new()),
            clear: Vec::new(),
            shortest: None,
            start: (0, 0),
            starts: Vec::new(),
            trying: Vec::new(),
            crowd,
            length,
            loose: length,
            lowest: f64::INFINITY,
            nearest: Vec::new(),
            eased: false,
            stale: 0,
            failures: 0,
            steps: 0,
            finished: false,
            random: fastrand::Rng::with_seed(seed),
        }
    }

    /// The best lay so far.
    #[must_use]
    pub fn best(&self) -> Option<&Lay> {
        self.best.as_ref()
    }

    /// Shapes that places speak of.
    #[must_use]
    pub fn shapes(&self) -> &Shapes {
        &self.shapes
    }

    /// Rounds taken.
    #[must_use]
    pub fn steps(&self) -> u64 {
        self.steps
    }

    /// Whether no better lay can be asked for.
    #[must_use]
    pub fn finished(&self) -> bool {
        self.finished
    }

    /// One round; whether a better lay was found.
    pub fn step(&mut self) -> bool {
        if self.finished {
            return false;
        }
        self.steps += 1;
        if let Some(laid) = self.filling.take() {
            return self.put_in(laid);
        }
        if self.is_on_strip() && self.start.0 <= STARTS && self.steps - self.start.1 > START {
            self.start_anew();
        }
        if self.crowd.round(&self.shapes, &self.nests) {
            self.succeed();
            return true;
        }
        let crowding = self.crowd.crowding(&self.shapes);
        if crowding < self.lowest * BETTER {
            (self.lowest, self.stale) = (crowding, 0);
            self.nearest.clone_from(&self.crowd.places);
        } else {
            self.stale += 1;
        }
        if self.stale > PATIENCE && !self.ease() {
            self.failures += 1;
            self.fail();
        }
        false
    }

    fn is_on_strip(&self) -> bool {
        matches!(self.aim, Aim::Shortest { .. })
    }

    /// Puts in the next pieces, and makes a crowd of them once none is left that finds a place; whether that is a lay.
    fn put_in(&mut self, mut laid: Vec<Place>) -> bool {
        let endless = |width: f64| {
            let reaches = self.pieces.iter().map(|&shape| self.shapes.all[shape].reach);
            let each = reaches.map(|reach| 2.0 * reach + self.rules.spacing);
            let length = each.sum::<f64>() + 2.0 * self.rules.margin + self.loose;
            Ground::Rectangle { size: DVec2::new(length, width) }
        };
        let (ground, length) = match &self.aim {
            Aim::Most { ground } | Aim::Fewest { ground } => (ground.clone(), f64::INFINITY),
            Aim::Shortest { width } => (endless(*width), self.loose),
        };
        let next: Vec<usize> = self.pieces.iter().skip(laid.len()).take(AT_ONCE).copied().collect();
        let (shapes, nests) = (&self.shapes, &self.nests);
        // A hair less than nests keep, which are reckoned from another side.
        let spare = SPARE * 0.9;
        let rules = Rules {
            spacing: self.rules.spacing + spare,
            margin: self.rules.margin + spare,
            ..self.rules
        };
        let filling = Filling { shapes, nests, ground: &ground, rules, length };
        let all = filling.put_in(&mut laid, &next, &mut self.random);
        if all && laid.len() < self.pieces.len() {
            self.filling = Some(laid);
            return false;
        }
        if laid.is_empty() || (self.is_on_strip() && !all) {
            self.start_anew();
            return false;
        }
        self.trying = (0..laid.len()).collect();
        self.crowd = Crowd::new(ground, self.rules, laid, self.random.u64(..));
        if let Aim::Shortest { width } = self.aim {
            self.length = self.end() + spare;
            self.crowd.ground = Ground::Rectangle { size: DVec2::new(self.length, width) };
        }
        let clear = (0..MENDING).any(|_| self.crowd.parts(&self.shapes));
        if clear {
            self.succeed();
        }
        clear
    }

    /// Lets a start go, and makes the next one, or goes on with the best of all.
    fn start_anew(&mut self) {
        let clear = std::mem::take(&mut self.clear);
        self.starts.extend(self.shortest.take().map(|length| (length, clear)));
        self.start = (self.start.0 + 1, self.steps);
        (self.length, self.failures) = (self.loose, 0);
        if self.start.0 > STARTS {
            let starts = std::mem::take(&mut self.starts);
            if let Some((length, clear)) = starts.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
                (self.length, self.shortest, self.clear) = (length, Some(length), clear);
            }
        }
        self.challenge();
    }

    /// All pieces lie clear: the lay is kept, and the task made harder.
    fn succeed(&mut self) {
        if let Aim::Shortest { width } = self.aim {
            self.length = self.end();
            self.push_together(width);
            self.shortest = Some(self.length);
        }
        self.clear = self.trying.iter().copied().zip(self.crowd.places.iter().copied()).collect();
        self.keep();
        if self.is_on_strip() && self.start.0 == 0 {
            // Pieces put in one by one seldom lie in a good order: others are tried before it is gone on with.
            self.start_anew();
            return;
        }
        self.failures = self.failures.saturating_sub(1);
        self.challenge();
    }

    /// Length of strip that the pieces of the crowd take, mm.
    fn end(&self) -> f64 {
        let ends = self.crowd.places.iter().map(|place| bounds(&laid(&self.shapes, place)).1.x);
        ends.fold(0.0, f64::max) + self.rules.margin
    }

    /// Pushes the pieces of a strip that lie clear together as far as they go without leaving their hollows. That costs a
    /// small part of what the rounds would take to find as much.
    fn push_together(&mut self, width: f64) {
        let mut share = PUSHED.0;
        while share > PUSHED.1 {
            let mut crowd = self.crowd.clone();
            for place in &mut crowd.places {
                place.at.x *= 1.0 - share;
            }
            let size = DVec2::new(self.length * (1.0 - share), width);
            crowd.ground = Ground::Rectangle { size };
            if crowd.parts(&self.shapes) {
                self.crowd = crowd;
                self.length = self.end();
            } else {
                share /= 2.0;
            }
        }
    }

    /// Takes what lies clear for the best lay if it is.
    fn keep(&mut self) {
        let length = self.is_on_strip().then_some(self.length);
        let sheets = match self.aim {
            Aim::Fewest { .. } => self.alike(),
            _ => vec![self.clear.clone()],
        };
        let lay = Lay { sheets, length };
        let count = |lay: &Lay| lay.sheets.iter().map(Vec::len).sum::<usize>();
        let better = self.best.as_ref().is_none_or(|best| match self.aim {
            Aim::Most { .. } => count(&lay) > count(best),
            // A sheet that has no room yet for one of the shapes leaves pieces out.
            Aim::Fewest { .. } => {
                count(&lay) > count(best)
                    || (count(&lay) == count(best) && lay.sheets.len() <= best.sheets.len())
            }
            Aim::Shortest { .. } => lay.length < best.length,
        });
        if better {
            self.best = Some(lay);
        }
    }

    /// All pieces on sheets laid like the fullest one, each from its left end.
    fn alike(&self) -> Vec<Vec<(usize, Place)>> {
        let mut rooms: Vec<Place> = self.clear.iter().map(|(_, place)| *place).collect();
        rooms.sort_by(|a, b| a.at.x.total_cmp(&b.at.x));
        let mut left: Vec<usize> = (0..self.pieces.len()).collect();
        let mut sheets = Vec::new();
        while !left.is_empty() {
            let mut sheet = Vec::new();
            for room in &rooms {
                let mirror = self.shapes.mirrors.get(room.shape).copied().flatten();
                let fits = |&piece: &usize| {
                    self.pieces[piece] == room.shape || Some(self.pieces[piece]) == mirror
                };
                if let Some(next) = left.iter().position(fits) {
                    sheet.push((left.remove(next), *room));
                }
            }
            if sheet.is_empty() {
                break;
            }
            sheets.push(sheet);
        }
        sheets
    }

    /// Sets up the next crowd from the lay that is clear.
    fn challenge(&mut self) {
        let (ground, trying) = match &self.aim {
            Aim::Shortest { width } => {
                if !self.clear.is_empty() {
                    let share = SHORTER[(self.failures / FAILURES).min(SHORTER.len() - 1)];
                    self.length *= 1.0 - share;
                }
                let size = DVec2::new(self.length, *width);
                (Ground::Rectangle { size }, (0..self.pieces.len()).collect())
            }
            Aim::Most { ground } | Aim::Fewest { ground } => {
                let Some(trying) = self.one_more(ground) else {
                    self.finished = true;
                    return;
                };
                (ground.clone(), trying)
            }
        };
        self.crowd = Crowd::new(ground, self.rules, Vec::new(), self.random.u64(..));
        self.trying = trying;
        self.populate();
    }

    /// The pieces that lie clear and one more, if there is any and their area leaves room for it.
    fn one_more(&self, ground: &Ground) -> Option<Vec<usize>> {
        let mut trying: Vec<usize> = self.clear.iter().map(|(piece, _)| *piece).collect();
        let next = (0..self.pieces.len()).find(|piece| !trying.contains(piece))?;
        trying.push(next);
        let area: f64 = trying.iter().map(|&piece| self.shapes.all[self.pieces[piece]].area).sum();
        (area <= ground.area()).then_some(trying)
    }

    /// Places of the pieces to begin with: where they lay clear, in proportion to the sheet's length; new ones anywhere.
    fn populate(&mut self) {
        let (ground, turning) = (self.crowd.ground.clone(), self.rules.turning);
        let wide = ground.bounds().1.x;
        let before = self.shortest.map_or(1.0, |length| wide / length);
        let mut places = Vec::with_capacity(self.trying.len());
        for &piece in &self.trying {
            let known = self.clear.iter().find(|(clear, _)| *clear == piece);
            let place = known.map(|(_, place)| Place {
                at: DVec2::new(place.at.x * before, place.at.y),
                ..*place
            });
            places.push(place.unwrap_or_else(|| {
                let shape = self.pieces[piece];
                Crowd::anywhere(&self.shapes, &ground, turning, shape, &mut self.random)
            }));
        }
        self.crowd = Crowd::new(ground, self.rules, places, self.random.u64(..));
        (self.lowest, self.stale, self.eased) = (f64::INFINITY, 0, false);
    }

    /// A crowd on a strip that nearly came loose gets half of what the strip was made shorter by back; whether it does.
    fn ease(&mut self) -> bool {
        let nearly = self.lowest < NEARLY && !self.eased;
        let Some(shortest) = self.shortest.filter(|_| nearly) else {
            return false;
        };
        let length = f64::midpoint(self.length, shortest);
        let (more, width) = (length / self.length, self.aim.size(length).y);
        let places = self.nearest.iter();
        let places =
            places.map(|place| Place { at: DVec2::new(place.at.x * more, place.at.y), ..*place });
        let ground = Ground::Rectangle { size: DVec2::new(length, width) };
        self.crowd = Crowd::new(ground, self.rules, places.collect(), self.random.u64(..));
        self.length = length;
        self.eased = true;
        (self.lowest, self.stale) = (f64::INFINITY, 0);
        true
    }

    /// A crowd did not come loose: it is shaken up.
    fn fail(&mut self) {
        if self.is_on_strip() {
            self.length = self.shortest.unwrap_or(self.length * 1.1);
        }
        self.challenge();
        let count = self.crowd.places.len();
        if count < 2 {
            return;
        }
        let (one, other) = (below(&mut self.random, count), below(&mut self.random, count));
        let places = &mut self.crowd.places;
        let (first, second) = (places[one], places[other]);
        let alike = first.shape == second.shape
            || self.shapes.mirrors.get(first.shape).copied().flatten() == Some(second.shape);
        if alike {
            // Two of a shape that change places lie as before: one is turned end for end instead.
            places[one].angle += std::f64::consts::PI;
        } else {
            (places[one].at, places[one].angle) = (second.at, second.angle);
            (places[other].at, places[other].angle) = (first.at, first.angle);
        }
        if self.random.bool() {
            let shape = places[one].shape;
            let (ground, turning) = (self.crowd.ground.clone(), self.rules.turning);
            let thrown = Crowd::anywhere(&self.shapes, &ground, turning, shape, &mut self.random);
            self.crowd.places[one] = thrown;
        }
    }
}
