//! Matrices that stay in the eight bits in which a network's file holds them.
//!
//! The library would widen them to floats, four times as much memory, as soon as it has read
//! them, and hold several copies while it does. Here they are never copied at all: they are
//! read where they lie in the file, some rows at a time whenever they are needed, and
//! widened into a buffer that the processor's cache holds.

use std::fmt;
use std::sync::Arc;

use tract_onnx::prelude::tract_ndarray::linalg::general_mat_mul;
use tract_onnx::prelude::tract_ndarray::{Array2, ArrayView1, ArrayView2, Axis};
use tract_onnx::tract_hir::internal::*;

/// Numbers widened at a time, about: half a megabyte of floats.
const AT_A_TIME: usize = 131_072;

/// Multiplies what comes in, `[1, any, rows]`, with a matrix, `[rows, columns]`; gives
/// `[1, any, columns]`.
#[derive(Clone, PartialEq, Eq)]
pub(super) struct EightBit {
    /// Row by row, two's complement.
    numbers: &'static [u8],
    rows: usize,
    /// What a step of the numbers is worth, for each column.
    steps: Arc<Tensor>,
}

impl EightBit {
    /// `numbers`: the matrix row by row; `steps`: a float for each column.
    ///
    /// # Errors
    /// They do not fit each other.
    pub fn new(numbers: &'static [u8], rows: usize, steps: Tensor) -> TractResult<Self> {
        ensure!(steps.datum_type() == f32::datum_type(), "steps are floats");
        ensure!(
            numbers.len() == rows * steps.len() && !numbers.is_empty(),
            "{} numbers, {rows} rows, {} columns",
            numbers.len(),
            steps.len()
        );
        let steps = Arc::new(steps);
        Ok(Self {
            numbers,
            rows,
            steps,
        })
    }

    fn columns(&self) -> usize {
        self.steps.len()
    }

    pub fn product(&self, x: ArrayView2<f32>) -> TractResult<Array2<f32>> {
        let columns = self.columns();
        let rows = (AT_A_TIME / columns).max(1);
        let mut out = Array2::zeros((x.nrows(), columns));
        let mut wide = vec![0.0; rows.min(self.rows) * columns];
        let parts = self.numbers.chunks(rows * columns);
        for (x, part) in x.axis_chunks_iter(Axis(1), rows).zip(parts) {
            for (wide, number) in wide.iter_mut().zip(part) {
                *wide = f32::from(number.cast_signed());
            }
            let wide = ArrayView2::from_shape((x.ncols(), columns), &wide)?;
            general_mat_mul(1.0, &x, &wide, 1.0, &mut out);
        }
        let steps = self.steps.try_as_plain_ram()?;
        out *= &ArrayView1::from(steps.as_slice::<f32>()?);
        Ok(out)
    }
}

impl fmt::Debug for EightBit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "EightBit {} × {}", self.rows, self.columns())
    }
}

impl Op for EightBit {
    fn name(&self) -> StaticName {
        "EightBit".into()
    }

    op_as_typed_op!();
}

impl EvalOp for EightBit {
    fn eval(&self, _: &EvalContext, inputs: TVec<TValue>) -> TractResult<TVec<TValue>> {
        let x = args_1!(inputs);
        let x = x.to_plain_array_view::<f32>()?;
        let any = x.len() / self.rows;
        let x = x.into_shape_with_order((any, self.rows))?;
        let out = self.product(x)?.insert_axis(Axis(0));
        Ok(tvec!(Tensor::from(out).into()))
    }

    op_out_of_plan!();
}

impl TypedOp for EightBit {
    fn output_facts(&self, inputs: &[&TypedFact]) -> TractResult<TVec<TypedFact>> {
        let &[input] = inputs else {
            bail!("{self:?} takes one input");
        };
        let (one, any, rows) = match &*input.shape {
            [one, any, rows] => (one, any, rows),
            other => bail!("{self:?} of {other:?}"),
        };
        ensure!(
            input.datum_type == f32::datum_type() && one.is_one() && *rows == self.rows.to_dim(),
            "{self:?} of {input:?}"
        );
        Ok(tvec!(f32::fact([
            1.to_dim(),
            any.clone(),
            self.columns().to_dim()
        ])))
    }

    as_op!();
}

impl Expansion for EightBit {
    fn name(&self) -> StaticName {
        Op::name(self)
    }

    fn wire(
        &self,
        prefix: &str,
        model: &mut TypedModel,
        inputs: &[OutletId],
    ) -> TractResult<TVec<OutletId>> {
        model.wire_node(prefix, self.clone(), inputs)
    }

    fn rules<'r, 'p: 'r, 's: 'r>(
        &'s self,
        solver: &mut Solver<'r>,
        inputs: &'p [TensorProxy],
        outputs: &'p [TensorProxy],
    ) -> InferenceResult {
        check_input_arity(inputs, 1)?;
        check_output_arity(outputs, 1)?;
        let (x, out) = (&inputs[0], &outputs[0]);
        solver.equals(&x.datum_type, f32::datum_type())?;
        solver.equals(&out.datum_type, f32::datum_type())?;
        solver.equals(&x.rank, 3)?;
        solver.equals(&out.rank, 3)?;
        solver.equals(&x.shape[0], 1.to_dim())?;
        solver.equals(&out.shape[0], 1.to_dim())?;
        solver.equals(&x.shape[1], &out.shape[1])?;
        solver.equals(&x.shape[2], self.rows.to_dim())?;
        solver.equals(&out.shape[2], self.columns().to_dim())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against sums written out in 64-bit floats.
    #[test]
    fn products_are_those_of_the_widened_matrix() {
        for (any, rows, columns) in [(1, 1, 1), (3, 5, 255), (7, 300, 512), (2, 3, 70_000)] {
            let numbers: Vec<u8> = (0..rows * columns).map(|n| (n * n % 251) as u8).collect();
            let steps: Vec<f32> = (0..columns).map(|n| 0.01 + n as f32 / 1e3).collect();
            let x: Vec<f32> = (0..any * rows)
                .map(|n| (n * 7 % 23) as f32 - 11.0)
                .collect();
            let held: &'static [u8] = numbers.clone().leak();
            let steps_held = Tensor::from_shape(&[1, columns], &steps).unwrap();
            let op = EightBit::new(held, rows, steps_held).unwrap();
            let x_held = Tensor::from_shape(&[1, any, rows], &x).unwrap();
            let got = op.eval_out_of_plan(tvec!(x_held.into())).unwrap().unwrap();
            assert_eq!(got[0].shape(), [1, any, columns]);
            let got = got[0].to_plain_array_view::<f32>().unwrap();
            for (n, &got) in got.iter().enumerate() {
                let (t, column) = (n / columns, n % columns);
                let weight = |row: usize| {
                    let number = numbers[row * columns + column] as i8;
                    f64::from(number) * f64::from(steps[column])
                };
                let want: f64 = (0..rows)
                    .map(|r| f64::from(x[t * rows + r]) * weight(r))
                    .sum();
                assert!(
                    (f64::from(got) - want).abs() < 1e-2,
                    "{n}: {got}, not {want}"
                );
            }
        }
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let steps = || Tensor::from_shape(&[1, 2], &[1.0_f32, 2.0]).unwrap();
        assert!(EightBit::new(&[1, 2, 3, 4], 2, steps()).is_ok());
        assert!(EightBit::new(&[1, 2, 3], 2, steps()).is_err());
        assert!(EightBit::new(&[], 0, steps()).is_err());
        assert!(EightBit::new(&[1], 1, Tensor::from(1_i64)).is_err());
        let op = EightBit::new(&[1, 2, 3, 4], 2, steps()).unwrap();
        assert!(op.output_facts(&[&f32::fact([1, 7, 2])]).is_ok());
        for shape in [&[1, 7, 3][..], &[2, 7, 2], &[7, 2]] {
            assert!(op.output_facts(&[&f32::fact(shape)]).is_err());
        }
    }
}
