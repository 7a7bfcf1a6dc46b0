//! A straight line through points by least squares.
//!
//! Comes in: points (x, y). Goes out: slope, intercept, and how far the points scatter about the line. Next:
//! [`super::fit`] and [`super::redox`].

/// Values of x that differ by less than this part of them are the same one.
///
/// Source: our own choice, far below any typed digit.
const SAME_X: f64 = 1e-9;

/// A straight line y = intercept + slope·x by ordinary least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Number of points.
    pub points: usize,
    /// Slope, unit of y per unit of x.
    pub slope: f64,
    /// Value at x = 0, unit of y.
    pub intercept: f64,
    /// Mean of the x.
    pub mean_x: f64,
    /// Mean of the y.
    pub mean_y: f64,
    /// Σ(x − mean)².
    pub sum_of_squares_x: f64,
    /// Σ residual².
    pub sum_of_squares_residual: f64,
    /// Correlation of x and y; `None` below three points or when all y are equal.
    pub correlation: Option<f64>,
    /// Scatter about the line; `None` below three points.
    pub scatter: Option<Scatter>,
}

/// How far the points scatter about a line, with n − 2 degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Residual standard deviation √(Σ residual²/(n − 2)), unit of y.
    pub residual_sd: f64,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Covariance of intercept and slope.
    pub covariance: f64,
}

impl Line {
    /// y on the line at x.
    pub fn at(&self, x: f64) -> f64 {
        self.mean_y + self.slope * (x - self.mean_x)
    }
}

/// The line of least squares through points (x, y), in centred closed form. `None` when the x do not differ.
///
/// ```
/// let line = halfcell::engine::line::straight_line(&[(1.0, 3.0), (2.0, 5.0)]).unwrap();
/// assert_eq!((line.slope, line.intercept), (2.0, 1.0));
/// ```
pub fn straight_line(points: &[(f64, f64)]) -> Option<Line> {
    let n = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let sum = |term: &dyn Fn(f64, f64) -> f64| points.iter().map(|p| term(p.0 - mean_x, p.1 - mean_y)).sum::<f64>();
    let sxx = sum(&|dx, _| dx * dx);
    let sxy = sum(&|dx, dy| dx * dy);
    let syy = sum(&|_, dy| dy * dy);
    let differ = points.iter().any(|p| (p.0 - points[0].0).abs() > SAME_X * p.0.abs().max(points[0].0.abs()));
    if !differ {
        return None;
    }
    let slope = sxy / sxx;
    let intercept = mean_y - slope * mean_x;
    let residual = sum(&|dx, dy| (dy - slope * dx).powi(2));
    let enough = points.len() >= 3;
    let scatter = enough.then(|| {
        let variance = residual / (n - 2.0);
        Scatter {
            residual_sd: variance.sqrt(),
            slope_error: (variance / sxx).sqrt(),
            intercept_error: (variance * (1.0 / n + mean_x * mean_x / sxx)).sqrt(),
            covariance: -variance * mean_x / sxx,
        }
    });
    let correlation = (enough && syy > 0.0).then(|| (sxy / (sxx * syy).sqrt()).clamp(-1.0, 1.0));
    Some(Line {
        points: points.len(),
        slope,
        intercept,
        mean_x,
        mean_y,
        sum_of_squares_x: sxx,
        sum_of_squares_residual: residual,
        correlation,
        scatter,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_above_each_other_have_no_line() {
        assert_eq!(straight_line(&[(0.1 + 0.2, 1.0), (0.3, 2.0)]), None);
        assert_eq!(straight_line(&[(5.0, 1.0)]), None);
        assert_eq!(straight_line(&[]), None);
    }

    #[test]
    fn two_points_have_a_line_but_no_scatter() {
        let line = straight_line(&[(1.0, 3.0), (3.0, 7.0)]).unwrap();
        assert_eq!((line.slope, line.intercept, line.at(2.0)), (2.0, 1.0, 5.0));
        assert_eq!((line.scatter, line.correlation), (None, None));
    }

    #[test]
    fn a_flat_line_has_no_correlation() {
        let line = straight_line(&[(1.0, 4.0), (2.0, 4.0), (3.0, 4.0)]).unwrap();
        assert_eq!((line.slope, line.correlation), (0.0, None));
        assert_eq!(line.scatter.unwrap().residual_sd, 0.0);
    }
}
