//! What a performer should know about the sound, as one plain line each.

/// Something to tell the performer about the sound. Shown as one line; nothing has to be done about it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Notice {
    /// The first rehearsal with sound.
    #[error("The sound starts quiet. With headphones, put them on only after you have heard it.")]
    FirstTime,
    /// There is no sound server or device to begin with.
    #[error("No sound: {0}. Everything is shown instead.")]
    NoOutput(String),
    /// The sound server or device went away.
    #[error("The sound went away. Everything is shown instead, and it comes back by itself.")]
    Lost,
    /// It is there again.
    #[error("The sound is back.")]
    Back,
    /// It is there, where there was none to begin with.
    #[error("There is sound now.")]
    Come,
    /// The speech engine cannot be had.
    #[error("No speech: {0}. Everything is shown instead.")]
    NoSpeech(String),
    /// A sound of the performer's own cannot be played.
    #[error("{file} in your sounds folder cannot be played: {why}. Ours is played instead.")]
    Sound {
        /// The file's name.
        file: String,
        /// Why not.
        why: String,
    },
}
