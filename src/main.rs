//! The `allroads` program: reads the command line and hands over to the library.

fn main() -> std::process::ExitCode {
    allroads::command::run(std::env::args_os())
}
