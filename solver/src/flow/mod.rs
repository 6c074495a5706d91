//! Cells of all ducts. (Skeleton; owned by the kernel helper.)
