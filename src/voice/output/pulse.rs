//! The output on Linux: a client of the PulseAudio protocol, which PipeWire speaks too.

use super::{Place, Playing};
use crate::voice::mix::Desk;
use crate::voice::speech::RATE;
use futures_executor::block_on;
use pulseaudio::protocol::stream::{BufferAttr, StreamFlags};
use pulseaudio::protocol::{
    ChannelMap, PlaybackStreamParams, Prop, Props, SampleFormat, SampleSpec,
};
use pulseaudio::{AsPlaybackSource, Client};
use std::convert::Infallible;
use std::ffi::CStr;
use std::os::unix::fs::MetadataExt;
use std::os::unix::net::UnixStream;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{self, Sender};
use std::time::Duration;
use std::{env, fs};

/// How much the server keeps in advance, in bytes: 40 ms. Left to itself it takes two seconds, and a line is heard so much
/// later.
const AHEAD: u32 = RATE * 2 * 40 / 1000;

/// The length of the protocol's cookies, in bytes.
const COOKIE: usize = 256;

/// How long the server may take to greet.
const GREETING: Duration = Duration::from_secs(2);

/// Where the server's socket may be, as its own clients look for it.
fn sockets() -> Vec<PathBuf> {
    let named = |name: &str| {
        env::var_os(name)
            .filter(|v| !v.is_empty())
            .map(PathBuf::from)
    };
    if let Ok(server) = env::var("PULSE_SERVER")
        && !server.is_empty()
    {
        let path = server.strip_prefix("unix:").unwrap_or(&server);
        return vec![PathBuf::from(path)];
    }
    if let Some(folder) = named("PULSE_RUNTIME_PATH") {
        return vec![folder.join("native")];
    }
    let own = fs::metadata("/proc/self")
        .ok()
        .map(|m| PathBuf::from(format!("/run/user/{}", m.uid())));
    let folders = named("XDG_RUNTIME_DIR").into_iter().chain(own);
    folders.map(|f| f.join("pulse/native")).collect()
}

/// Connects and begins to play the desk's sound.
pub(super) fn open(desk: &Arc<Desk>) -> Result<Playing, String> {
    let socket = sockets()
        .iter()
        .find_map(|path| UnixStream::connect(path).ok())
        .ok_or("there is no sound server")?;
    let slow = |cause: std::io::Error| format!("the sound server does not answer ({cause})");
    socket.set_read_timeout(Some(GREETING)).map_err(slow)?;
    socket.set_write_timeout(Some(GREETING)).map_err(slow)?;
    let cookie = pulseaudio::cookie_path_from_env()
        .and_then(|path| fs::read(path).ok())
        .filter(|cookie| cookie.len() == COOKIE)
        // A server that lets everybody in still wants to see one.
        .unwrap_or_else(|| vec![0; COOKIE]);
    let refused = |cause: pulseaudio::ClientError| format!("the sound server refused ({cause})");
    let client = Client::new_unix(c"allroads", socket, Some(cookie)).map_err(refused)?;
    let server = block_on(client.server_info()).map_err(refused)?;

    let (alive, lost) = mpsc::channel::<Infallible>();
    let source = source(desk, alive);
    let stream = block_on(client.create_playback_stream(params(), source))
        .map_err(|cause| format!("the sound server has no device to play on ({cause})"))?;
    let device = block_on(client.sink_info(stream.sink()))
        .map(|sink| words(sink.description.as_deref().or(Some(&sink.name))))
        .unwrap_or_else(|_| "an unnamed device".to_owned());
    let ahead = stream.buffer_attr().target_length;
    Ok(Playing {
        place: Place {
            server: format!(
                "{} {}",
                words(server.server_name.as_deref()),
                words(server.server_version.as_deref())
            ),
            device,
            latency: Duration::from_millis(u64::from(ahead) * 1000 / u64::from(RATE * 2)),
        },
        lost,
        _keep: Box::new((stream, client)),
    })
}

/// What a server says of itself, without anything that a terminal could take for a command.
fn words(text: Option<&CStr>) -> String {
    let text = text.map(CStr::to_string_lossy).unwrap_or_default();
    text.chars().filter(|c| !c.is_control()).take(80).collect()
}

fn params() -> PlaybackStreamParams {
    let mut props = Props::new();
    props.set(Prop::MediaName, c"Rehearsal");
    props.set(Prop::MediaRole, c"a11y");
    PlaybackStreamParams {
        sample_spec: SampleSpec {
            format: SampleFormat::S16Le,
            channels: 1,
            sample_rate: RATE,
        },
        channel_map: ChannelMap::mono(),
        props,
        buffer_attr: BufferAttr {
            target_length: AHEAD,
            pre_buffering: AHEAD / 2,
            minimum_request_length: AHEAD / 4,
            ..BufferAttr::default()
        },
        flags: StreamFlags {
            adjust_latency: true,
            ..StreamFlags::default()
        },
        ..PlaybackStreamParams::default()
    }
}

/// The callback that the server's requests end in. The client drops it when the connection dies; with it goes `alive`.
fn source(desk: &Arc<Desk>, alive: Sender<Infallible>) -> impl pulseaudio::PlaybackSource {
    let mut outlet = desk.open();
    let fill = move |buffer: &mut [u8]| {
        let _alive = &alive;
        for place in buffer.chunks_exact_mut(2) {
            let sample = outlet.next().unwrap_or(0.0);
            place.copy_from_slice(&((sample * 32767.0) as i16).to_le_bytes());
        }
        buffer.len() / 2 * 2
    };
    fill.as_playback_source()
}
