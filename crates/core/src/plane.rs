//! Points and symmetric 2 by 2 matrices of the face plane.

/// A point of the face frame: millimetres, origin at the centre of the face aimed at, +x right and +y up as the archer
/// sees it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right, in millimetres.
    pub x_mm: f64,
    /// Up, in millimetres.
    pub y_mm: f64,
}

impl Point {
    /// The point `x_mm` to the right and `y_mm` up.
    #[must_use]
    pub const fn new(x_mm: f64, y_mm: f64) -> Self {
        Self { x_mm, y_mm }
    }

    /// Distance from the centre, in millimetres.
    #[must_use]
    pub fn radius_mm(self) -> f64 {
        self.x_mm.hypot(self.y_mm)
    }

    /// Whether both numbers are finite.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.x_mm.is_finite() && self.y_mm.is_finite()
    }
}

impl std::ops::Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x_mm + other.x_mm, self.y_mm + other.y_mm)
    }
}

impl std::ops::Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x_mm - other.x_mm, self.y_mm - other.y_mm)
    }
}

impl std::ops::Mul<f64> for Point {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.x_mm * k, self.y_mm * k)
    }
}

/// A symmetric 2 by 2 matrix, here always a covariance or a scale, in mm^2.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sym2 {
    /// Along x.
    pub xx: f64,
    /// Between x and y.
    pub xy: f64,
    /// Along y.
    pub yy: f64,
}

impl Sym2 {
    /// The matrix `[[xx, xy], [xy, yy]]`.
    #[must_use]
    pub const fn new(xx: f64, xy: f64, yy: f64) -> Self {
        Self { xx, xy, yy }
    }

    /// `k` times the unit matrix.
    #[must_use]
    pub const fn isotropic(k: f64) -> Self {
        Self::new(k, 0.0, k)
    }

    /// `p p'`.
    #[must_use]
    pub fn outer(p: Point) -> Self {
        Self::new(p.x_mm * p.x_mm, p.x_mm * p.y_mm, p.y_mm * p.y_mm)
    }

    /// The determinant.
    #[must_use]
    pub fn det(self) -> f64 {
        self.xx * self.yy - self.xy * self.xy
    }

    /// Half the trace: the mean variance of an axis.
    #[must_use]
    pub fn mean_variance(self) -> f64 {
        0.5 * (self.xx + self.yy)
    }

    /// Standard deviation of an axis, root mean square over both, in millimetres.
    #[must_use]
    pub fn mean_sd(self) -> f64 {
        self.mean_variance().max(0.0).sqrt()
    }

    /// The matrix with its axes stretched by `k`: `D M D` with `D = diag(k)`.
    #[must_use]
    pub fn stretched(self, k: [f64; 2]) -> Self {
        Self::new(self.xx * k[0] * k[0], self.xy * k[0] * k[1], self.yy * k[1] * k[1])
    }

    /// Eigenvalues, larger first, and the angle of the larger one's axis from +x towards +y, in radians.
    #[must_use]
    pub fn principal(self) -> Principal {
        let half_difference = 0.5 * (self.xx - self.yy);
        let radius = half_difference.hypot(self.xy);
        let mean = self.mean_variance();
        // The smaller eigenvalue through the determinant, where the difference would cancel.
        let major = mean + radius;
        let minor = if major > 0.0 { (self.det() / major).min(major) } else { mean - radius };
        Principal { major, minor, angle_rad: 0.5 * self.xy.atan2(half_difference) }
    }

    /// The quadratic form `p' M^-1 p`.
    #[must_use]
    pub fn mahalanobis2(self, p: Point) -> f64 {
        (self.yy * p.x_mm * p.x_mm - 2.0 * self.xy * p.x_mm * p.y_mm + self.xx * p.y_mm * p.y_mm) / self.det()
    }

    /// Lower Cholesky factor `(l11, l21, l22)`.
    #[must_use]
    pub fn cholesky(self) -> (f64, f64, f64) {
        let l11 = self.xx.max(0.0).sqrt();
        let l21 = if l11 > 0.0 { self.xy / l11 } else { 0.0 };
        (l11, l21, (self.yy - l21 * l21).max(0.0).sqrt())
    }
}

impl std::ops::Add for Sym2 {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.xx + other.xx, self.xy + other.xy, self.yy + other.yy)
    }
}

impl std::ops::Sub for Sym2 {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.xx - other.xx, self.xy - other.xy, self.yy - other.yy)
    }
}

impl std::ops::Mul<f64> for Sym2 {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.xx * k, self.xy * k, self.yy * k)
    }
}

/// Principal axes of a [`Sym2`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Principal {
    /// The larger eigenvalue.
    pub major: f64,
    /// The smaller eigenvalue.
    pub minor: f64,
    /// Direction of the major axis, from +x towards +y, in radians.
    pub angle_rad: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn principal_axes_rebuild_the_matrix() {
        for m in [Sym2::new(4.0, 1.0, 2.0), Sym2::new(1.0, -0.9, 1.0), Sym2::isotropic(3.0), Sym2::new(1.0, 0.0, 9.0)] {
            let p = m.principal();
            let (s, c) = p.angle_rad.sin_cos();
            let back = Sym2::new(
                p.major * c * c + p.minor * s * s,
                (p.major - p.minor) * s * c,
                p.major * s * s + p.minor * c * c,
            );
            assert!((back.xx - m.xx).abs() + (back.xy - m.xy).abs() + (back.yy - m.yy).abs() < 1e-12, "{m:?} {p:?}");
        }
    }
}
