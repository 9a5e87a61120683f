//! What the ends say of one axis, gathered so that a fit need not look at the shots again.
//!
//! One axis of the model: `y = m_session + b_arrow + d_end + e`, with `e` of variance `sigma^2 / w`, `d` of variance
//! `rho sigma^2` and `b` of variance `lambda sigma^2`, the sessions' centres free. Ends are absorbed one by one by the
//! identity of Woodbury, sessions by elimination; what is left is one matrix with a row for every arrow.

use crate::stats::cholesky::Cholesky;

/// Where every shot belongs.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub(super) arrows: usize,
    /// Session of each end.
    pub(super) session_of_end: Vec<usize>,
    pub(super) sessions: usize,
    /// End of each shot.
    pub(super) end: Vec<usize>,
    /// Arrow of each shot.
    pub(super) arrow: Vec<usize>,
    /// Where the cells of each end start; one more than there are ends.
    starts: Vec<usize>,
    /// Arrow of each cell (an arrow within an end).
    cell_arrow: Vec<usize>,
    /// Cell of each shot.
    cell: Vec<usize>,
}

impl Layout {
    /// From the end (counted over all sessions) and arrow of each shot, and the session of each end.
    pub(super) fn new(arrows: usize, session_of_end: Vec<usize>, end: Vec<usize>, arrow: Vec<usize>) -> Self {
        let sessions = session_of_end.iter().max().map_or(0, |s| s + 1);
        let mut order: Vec<usize> = (0..end.len()).collect();
        order.sort_by_key(|&i| (end[i], arrow[i]));
        let (mut starts, mut cell_arrow, mut cell) = (vec![0], Vec::new(), vec![0; end.len()]);
        let mut last = None;
        for &i in &order {
            while starts.len() <= end[i] {
                starts.push(cell_arrow.len());
            }
            if last != Some((end[i], arrow[i])) {
                last = Some((end[i], arrow[i]));
                cell_arrow.push(arrow[i]);
            }
            cell[i] = cell_arrow.len() - 1;
        }
        while starts.len() <= session_of_end.len() {
            starts.push(cell_arrow.len());
        }
        Self { arrows, session_of_end, sessions, end, arrow, starts, cell_arrow, cell }
    }

    /// Gathers the places `y` of an axis under the weights `w`.
    pub(super) fn gather(&self, y: &[f64], w: &[f64]) -> Gathered {
        let mut cells = vec![[0.0; 2]; self.cell_arrow.len()];
        let mut squares = 0.0;
        for ((&cell, y), w) in self.cell.iter().zip(y).zip(w) {
            cells[cell][0] += w;
            cells[cell][1] += w * y;
            squares += w * y * y;
        }
        Gathered { cells, squares }
    }

    fn cells_of(&self, end: usize) -> std::ops::Range<usize> {
        self.starts[end]..self.starts[end + 1]
    }
}

/// One axis: sum of weights and weighted sum of places, cell by cell.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Gathered {
    cells: Vec<[f64; 2]>,
    squares: f64,
}

/// Ends and sessions absorbed: `H` and `g` of the arrows, and what the likelihood needs, all for `sigma = 1`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Absorbed {
    pub(super) rho: f64,
    /// Information on the arrows' offsets, row by row.
    pub(super) h: Vec<f64>,
    /// Its right-hand side.
    pub(super) g: Vec<f64>,
    /// Sum of squares with the arrows' offsets at 0.
    pub(super) squares: f64,
    /// The part of minus twice the log likelihood that the arrows do not change.
    pub(super) log_det: f64,
    /// For each session its information, its right-hand side and its share of each arrow.
    css: Vec<f64>,
    gs: Vec<f64>,
    csa: Vec<f64>,
}

impl Gathered {
    /// Absorbs ends of variance `rho` (in units of `sigma^2`) and free sessions.
    pub(super) fn absorb(&self, layout: &Layout, rho: f64) -> Absorbed {
        let (a, s) = (layout.arrows, layout.sessions);
        let (mut h, mut g) = (vec![0.0; a * a], vec![0.0; a]);
        let (mut css, mut gs, mut csa) = (vec![0.0; s], vec![0.0; s], vec![0.0; s * a]);
        let (mut squares, mut log_det) = (self.squares, 0.0);
        for (end, &session) in layout.session_of_end.iter().enumerate() {
            let range = layout.cells_of(end);
            let cells = &self.cells[range.clone()];
            let arrows = &layout.cell_arrow[range];
            let (w, wy) = cells.iter().fold((0.0, 0.0), |(w, wy), c| (w + c[0], wy + c[1]));
            let shrink = 1.0 / (1.0 + rho * w);
            let k = rho * shrink;
            squares -= k * wy * wy;
            log_det -= shrink.ln();
            css[session] += w * shrink;
            gs[session] += wy * shrink;
            for (first, (i, c)) in arrows.iter().zip(cells).enumerate() {
                csa[session * a + i] += c[0] * shrink;
                h[i * a + i] += c[0];
                g[*i] += c[1] - k * c[0] * wy;
                let row = &mut h[i * a..(i + 1) * a];
                let shared = k * c[0];
                // The arrows of an end are in order: the upper half, which the lower mirrors.
                for (j, d) in arrows[first..].iter().zip(&cells[first..]) {
                    row[*j] -= shared * d[0];
                }
            }
        }
        for t in 0..s {
            let row = &csa[t * a..(t + 1) * a];
            squares -= gs[t] * gs[t] / css[t];
            log_det += css[t].ln();
            for i in 0..a {
                g[i] -= row[i] * gs[t] / css[t];
                for j in i..a {
                    h[i * a + j] -= row[i] * row[j] / css[t];
                }
            }
        }
        for i in 0..a {
            for j in 0..i {
                h[i * a + j] = h[j * a + i];
            }
        }
        Absorbed { rho, h, g, squares: squares.max(0.0), log_det, css, gs, csa }
    }
}

/// The likelihood at one `lambda`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Value {
    /// Minus twice the restricted log likelihood, but for a constant.
    pub(super) deviance: f64,
    /// The variance of a clean shot at which it is highest.
    pub(super) sigma2: f64,
}

impl Absorbed {
    /// The information with the prior `1 / lambda` of the arrows.
    pub(super) fn with_prior(&self, lambda: f64) -> Option<Cholesky> {
        let a = self.g.len();
        let mut m = self.h.clone();
        for i in 0..a {
            m[i * a + i] += 1.0 / lambda;
        }
        Cholesky::new(a, &m)
    }

    /// The restricted likelihood of Patterson & Thompson 1971 at `lambda`, over `dof` degrees of freedom.
    pub(super) fn value(&self, lambda: f64, dof: f64) -> Value {
        let (mut squares, mut log_det) = (self.squares, self.log_det);
        if lambda > 0.0
            && let Some(c) = self.with_prior(lambda)
        {
            let x = c.forward(&self.g);
            squares -= x.iter().map(|v| v * v).sum::<f64>();
            log_det += c.log_det() + self.g.len() as f64 * lambda.ln();
        }
        let sigma2 = squares.max(f64::MIN_POSITIVE) / dof;
        Value { deviance: dof * sigma2.ln() + log_det, sigma2 }
    }

    /// Predicted offsets of the arrows at `lambda`.
    pub(super) fn offsets(&self, lambda: f64) -> Vec<f64> {
        if lambda <= 0.0 {
            return vec![0.0; self.g.len()];
        }
        self.with_prior(lambda).map_or_else(|| vec![0.0; self.g.len()], |c| c.solve(&self.g))
    }

    /// Centres of the sessions, given the arrows' offsets.
    pub(super) fn sessions(&self, offsets: &[f64]) -> Vec<f64> {
        let a = self.g.len();
        let share = |t: usize| (0..a).map(|i| self.csa[t * a + i] * offsets[i]).sum::<f64>();
        (0..self.css.len()).map(|t| (self.gs[t] - share(t)) / self.css[t]).collect()
    }

    /// Predicted deviation of every end from its session's centre.
    pub(super) fn ends(&self, layout: &Layout, gathered: &Gathered, offsets: &[f64], sessions: &[f64]) -> Vec<f64> {
        let of = |(end, &session): (usize, &usize)| {
            let (mut w, mut sum) = (0.0, 0.0);
            for cell in layout.cells_of(end) {
                let [cw, cwy] = gathered.cells[cell];
                w += cw;
                sum += cwy - cw * (sessions[session] + offsets[layout.cell_arrow[cell]]);
            }
            self.rho / (1.0 + self.rho * w) * sum
        };
        layout.session_of_end.iter().enumerate().map(of).collect()
    }
}
