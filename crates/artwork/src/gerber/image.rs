//! Objects in drawing order, dark and clear, to the dark image.

use super::object::DrawnObject;
use crate::shape::{Area, Bounds, Contour, Filling};

/// Objects of one polarity that may be united in one go.
struct Coat<'a> {
    dark: bool,
    objects: Vec<(&'a DrawnObject, Bounds)>,
    bounds: Bounds,
}

fn overlap(a: &Bounds, b: &Bounds) -> bool {
    a.min.x_nm <= b.max.x_nm
        && b.min.x_nm <= a.max.x_nm
        && a.min.y_nm <= b.max.y_nm
        && b.min.y_nm <= a.max.y_nm
}

impl Coat<'_> {
    fn touches(&self, bounds: &Bounds) -> bool {
        overlap(&self.bounds, bounds) && self.objects.iter().any(|(_, other)| overlap(other, bounds))
    }
}

/// The dark image. An object joins the earliest coat of its polarity that no object of the other polarity, drawn in
/// between, overlaps: files that change polarity thousands of times need only a few booleans.
pub(super) fn dark_image(objects: &[DrawnObject]) -> Area {
    let mut coats: Vec<Coat<'_>> = Vec::new();
    for object in objects {
        let Some(bounds) = object.bounds() else { continue };
        let mut place = None;
        for (index, coat) in coats.iter().enumerate().rev() {
            if coat.dark == object.dark {
                place = Some(index);
            } else if coat.touches(&bounds) {
                break;
            }
        }
        match place {
            Some(index) => {
                let coat = &mut coats[index];
                coat.bounds = coat.bounds.joined(&bounds);
                coat.objects.push((object, bounds));
            }
            None if !object.dark && coats.is_empty() => {} // nothing there to clear
            None => coats.push(Coat { dark: object.dark, objects: vec![(object, bounds)], bounds }),
        }
    }
    let mut image = Area::default();
    for coat in &coats {
        let contours: Vec<Contour> =
            coat.objects.iter().flat_map(|(object, _)| object.contours.iter().cloned()).collect();
        let united = Area::from_contours(&contours, Filling::NonZero);
        image = match (coat.dark, image.is_empty()) {
            (true, true) => united,
            (true, false) => image.union(&united),
            (false, _) => image.difference(&united),
        };
    }
    image
}
