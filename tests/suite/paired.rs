//! McNemar's test against statsmodels 0.15.0: `mcnemar([[794, b], [c, 570]], exact=True)` and
//! `exact=False, correction=True`.

use crate::reference::close;
use crate::tolerance;
use tailfan::statistics::paired::McNemar;

#[test]
fn against_the_library() {
    for (b, c, p, statistic) in [
        (86, 150, 3.715_936_139_571_386_6e-5, 16.817_796_610_169_49),
        (10, 2, 0.038_574_218_75, 4.083_333_333_333_333),
        (59, 121, 4.434_449_263_755_164_5e-6, 20.672_222_222_222_22),
        (5, 5, 1.0, 0.1),
        (0, 6, 0.031_25, 4.166_666_666_666_667),
        (1, 0, 1.0, 0.0),
        (3, 15, 0.007_537_841_796_875, 6.722_222_222_222_222),
    ] {
        let found = McNemar::of(b, c);
        close(found.p, p, tolerance::CLOSED_FORM, "p");
        close(
            found.statistic,
            statistic,
            tolerance::CLOSED_FORM,
            "statistic",
        );
        assert_eq!(McNemar::of(c, b).p, found.p);
    }
    assert_eq!(McNemar::of(0, 0).p, 1.0);
}
