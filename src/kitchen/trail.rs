//! A list that only grows and is cheap to clone: full blocks are shared.

use std::sync::Arc;

const BLOCK: usize = 64;

#[derive(Debug, Clone, PartialEq)]
pub struct Trail<T> {
    full: Vec<Arc<Vec<T>>>,
    open: Vec<T>,
}

impl<T> Default for Trail<T> {
    fn default() -> Self {
        Trail {
            full: Vec::new(),
            open: Vec::new(),
        }
    }
}

impl<T: Clone> Trail<T> {
    pub fn push(&mut self, item: T) {
        self.open.push(item);
        if self.open.len() == BLOCK {
            self.full.push(Arc::new(std::mem::take(&mut self.open)));
        }
    }

    pub fn len(&self) -> usize {
        self.full.len() * BLOCK + self.open.len()
    }

    pub fn get(&self, i: usize) -> Option<&T> {
        match self.full.get(i / BLOCK) {
            Some(block) => block.get(i % BLOCK),
            None => self.open.get(i - self.full.len() * BLOCK),
        }
    }

    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &T> {
        self.full
            .iter()
            .flat_map(|b| b.iter())
            .chain(self.open.iter())
    }

    pub fn last(&self) -> Option<&T> {
        self.len().checked_sub(1).and_then(|i| self.get(i))
    }

    pub fn pop(&mut self) -> Option<T> {
        if self.open.is_empty() {
            let block = self.full.pop()?;
            self.open = Arc::try_unwrap(block).unwrap_or_else(|shared| (*shared).clone());
        }
        self.open.pop()
    }

    /// Changes one item; its block is copied if it is shared.
    pub fn change(&mut self, i: usize, change: impl FnOnce(&mut T)) {
        let n = self.full.len();
        let item = match self.full.get_mut(i / BLOCK) {
            Some(block) => Arc::make_mut(block).get_mut(i % BLOCK),
            None => self.open.get_mut(i - n * BLOCK),
        };
        if let Some(item) = item {
            change(item);
        }
    }

    /// The items from number `i` on.
    pub fn from(&self, i: usize) -> impl Iterator<Item = &T> {
        (i..self.len()).filter_map(|k| self.get(k))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn behaves_as_a_vec() {
        let mut trail = Trail::default();
        let mut vec = Vec::new();
        for i in 0..300 {
            trail.push(i);
            vec.push(i);
            assert_eq!(trail.len(), vec.len());
            assert_eq!(trail.last(), vec.last());
        }
        assert!(trail.iter().eq(vec.iter()));
        assert!(trail.from(130).eq(vec[130..].iter()));
        let shared = trail.clone();
        trail.change(5, |x| *x = 1000);
        trail.change(299, |x| *x = 2000);
        assert_eq!(
            (trail.get(5), trail.get(299), trail.get(300)),
            (Some(&1000), Some(&2000), None)
        );
        assert_eq!(shared.get(5), Some(&5));
        assert_eq!(shared.len(), 300);
        while let Some(item) = trail.pop() {
            vec.pop();
            assert_eq!(trail.len(), vec.len());
            assert!(item >= 0);
        }
        assert_eq!((trail.len(), shared.len()), (0, 300));
    }
}
