//! Loops compiled for several instruction sets, the widest of which is chosen when the program runs.

/// A loop over rows. `run` must be `#[inline(always)]`, and so must all that it calls: only then is the body compiled anew for each
/// instruction set.
pub(super) trait Pass {
    /// What the loop answers.
    type Output;

    /// Runs the loop.
    fn run(self) -> Self::Output;
}

/// Vector instructions that the loops use. All give the same bits: no path may fuse a multiplication with an addition.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InstructionSet {
    /// What every processor of the architecture has.
    Baseline,
    /// Four numbers at a time.
    #[cfg(target_arch = "x86_64")]
    Avx2,
    /// Eight numbers at a time.
    #[cfg(target_arch = "x86_64")]
    Avx512,
}

impl InstructionSet {
    /// The sets that this processor has, narrowest first.
    #[must_use]
    pub fn available() -> Vec<Self> {
        #[cfg_attr(not(target_arch = "x86_64"), expect(unused_mut, reason = "only x86-64 has a choice"))]
        let mut sets = vec![Self::Baseline];
        #[cfg(target_arch = "x86_64")]
        {
            if is_x86_feature_detected!("avx2") {
                sets.push(Self::Avx2);
            }
            if is_x86_feature_detected!("avx512f")
                && is_x86_feature_detected!("avx512vl")
                && is_x86_feature_detected!("avx512dq")
            {
                sets.push(Self::Avx512);
            }
        }
        sets
    }

    /// The widest set that this processor has.
    #[must_use]
    pub fn widest() -> Self {
        Self::available().pop().unwrap_or(Self::Baseline)
    }

    /// Runs a loop with these instructions, or with the baseline if the processor lacks them.
    #[inline(always)]
    pub(super) fn run<P: Pass>(self, pass: P) -> P::Output {
        match self {
            Self::Baseline => baseline(pass),
            #[cfg(target_arch = "x86_64")]
            #[expect(unsafe_code, reason = "the compiler cannot know what `is_x86_feature_detected` has found")]
            // SAFETY: the features that the callee needs are looked for in the guard of the arm.
            Self::Avx2 if is_x86_feature_detected!("avx2") => unsafe { avx2(pass) },
            #[cfg(target_arch = "x86_64")]
            #[expect(unsafe_code, reason = "the compiler cannot know what `is_x86_feature_detected` has found")]
            // SAFETY: the features that the callee needs are looked for in the guard of the arm.
            Self::Avx512
                if is_x86_feature_detected!("avx512f")
                    && is_x86_feature_detected!("avx512vl")
                    && is_x86_feature_detected!("avx512dq") =>
            unsafe { avx512(pass) },
            #[cfg(target_arch = "x86_64")]
            Self::Avx2 | Self::Avx512 => baseline(pass),
        }
    }
}

#[inline(never)]
fn baseline<P: Pass>(pass: P) -> P::Output {
    pass.run()
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
#[inline(never)]
fn avx2<P: Pass>(pass: P) -> P::Output {
    pass.run()
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f,avx512vl,avx512dq")]
#[inline(never)]
fn avx512<P: Pass>(pass: P) -> P::Output {
    pass.run()
}
