//! A lay that gets better step by step: the most pieces from one sheet, the fewest sheets, or the shortest strip.
//!
//! Each step is one round of a [`Crowd`]. Once all pieces lie clear, the task is made harder: a shorter strip, or a piece
//! more on the sheet. All sheets but the last are laid alike. Where a crowd does not come loose, two pieces of the best lay
//! change places, or one is thrown elsewhere, and it is tried again; where it nearly did on a strip, the strip is first made
//! a little longer again. The same seed and the same number of steps give the same lay.

use glam::DVec2;

use super::crowd::{Crowd, Place, Rules, Shapes, below, laid};
use super::ground::Ground;
use super::nests::Nests;
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
    /// The pieces of the fullest sheet, or of the shortest strip.
    clear: Vec<(usize, Place)>,
    /// Those that are being laid.
    trying: Vec<usize>,
    crowd: Crowd,
    length: f64,
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
        let mut laying = Self {
            shapes,
            nests,
            rules,
            aim,
            pieces,
            best: None,
            clear: Vec::new(),
            trying: Vec::new(),
            crowd,
            length,
            lowest: f64::INFINITY,
            nearest: Vec::new(),
            eased: false,
            stale: 0,
            failures: 0,
            steps: 0,
            finished: false,
            random: fastrand::Rng::with_seed(seed),
        };
        laying.challenge();
        laying
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

    /// All pieces lie clear: the lay is kept, and the task made harder.
    fn succeed(&mut self) {
        self.clear = self.trying.iter().copied().zip(self.crowd.places.iter().copied()).collect();
        if let Aim::Shortest { .. } = self.aim {
            let ends = self.clear.iter().map(|(_, place)| bounds(&laid(&self.shapes, place)).1.x);
            self.length = ends.fold(0.0, f64::max) + self.rules.margin;
        }
        self.keep();
        self.failures = self.failures.saturating_sub(1);
        self.challenge();
    }

    /// Takes what lies clear for the best lay if it is.
    fn keep(&mut self) {
        let length = matches!(self.aim, Aim::Shortest { .. }).then_some(self.length);
        let sheets = match self.aim {
            Aim::Fewest { .. } => self.alike(),
            _ => vec![self.clear.clone()],
        };
        let lay = Lay { sheets, length };
        let count = |lay: &Lay| lay.sheets.iter().map(Vec::len).sum::<usize>();
        let better = self.best.as_ref().is_none_or(|best| match self.aim {
            Aim::Most { .. } => count(&lay) > count(best),
            Aim::Fewest { .. } => lay.sheets.len() <= best.sheets.len(),
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
        let before = match (&self.aim, self.best.as_ref().and_then(|best| best.length)) {
            (Aim::Shortest { .. }, Some(length)) => wide / length,
            _ => 1.0,
        };
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
        let best = self.best.as_ref().and_then(|best| best.length);
        let Some(best) = best.filter(|_| self.lowest < NEARLY && !self.eased) else {
            return false;
        };
        let length = f64::midpoint(self.length, best);
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
        if let Aim::Shortest { .. } = self.aim {
            match self.best.as_ref().and_then(|best| best.length) {
                Some(length) => self.length = length,
                None => self.length *= 1.1,
            }
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
