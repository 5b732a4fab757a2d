//! A second core that helps the first to measure: it has the bodies of the same job, measures rows of its list and tells them.

use wasm_bindgen::prelude::*;

use crate::model::Measuring;

use super::handing_over::job_text;

/// Measures rows of a job for a `Neck` in another thread.
#[wasm_bindgen]
#[derive(Debug, Default)]
pub struct Helper {
    measuring: Option<Measuring>,
    /// The last job could be built; otherwise `measuring` is of one before it, whose bodies may serve again.
    stands: bool,
}

#[wasm_bindgen]
impl Helper {
    /// A helper without a job.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Builds the bodies of a job; whether they could be. The neck's own core tells why not.
    #[wasm_bindgen(js_name = setJob)]
    pub fn set_job(
        &mut self,
        #[wasm_bindgen(unchecked_param_type = "Job | string")] job: JsValue,
    ) -> bool {
        let helped =
            job_text(&job).and_then(|text| Measuring::help(&text, self.measuring.as_ref()));
        self.stands = helped.is_ok();
        if let Ok(measuring) = helped {
            self.measuring = Some(measuring);
        }
        self.stands
    }

    /// A row of the list as numbers for `takeMeasured`; `undefined` of what is no row, without a job that could be built, and where the neck's own core has to find
    /// out itself what is wrong with a part.
    pub fn measure(&mut self, row: usize) -> Option<Vec<f64>> {
        let measuring = self.measuring.as_mut().filter(|_| self.stands)?;
        measuring.measure(row);
        measuring.told(row)
    }
}
