//! Is the plumbing closed; how much does heated water need; how high without protection; tank,
//! relief and advice.
