# For those who build for the phone's processor, sourced at the top of the project: Debian's own Rust with std from its
# sources, Debian's clang for the C parts against Debian's headers of a C library for that processor (not Android's own).
target=aarch64-linux-android
least=$(sed -n 's/.*minSdk = \([0-9]*\).*/\1/p' src-tauri/gen/android/app/build.gradle.kts)
export RUSTC=/usr/bin/rustc RUSTDOC=/usr/bin/rustdoc RUSTC_BOOTSTRAP=1 CARGO_TARGET_DIR="${BOWSEAM_ANDROID_TARGET:-$PWD/target/android}" CARGO_INCREMENTAL=0
unset RUSTUP_TOOLCHAIN
export CC_aarch64_linux_android=clang AR_aarch64_linux_android=llvm-ar
export CFLAGS_aarch64_linux_android="--target=$target$least -nostdlibinc -isystem /usr/aarch64-linux-gnu/include -D__errno_location=__errno"
