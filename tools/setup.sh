# What tools/demo and tools/check share: the packages, and steps that are quiet unless they fail.
# Sourced, not run. On return the working directory is the repository's root.

CDPATH='' cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.."

# Where several packages serve, they stand as first|second and any of them will do. NN stands for the
# number of the newest clang for WebAssembly, which Debian raises from time to time.
build_packages=(
  g++ cmake ninja-build pkg-config
  libboost-dev libceres-dev libcli11-dev libeigen3-dev libfmt-dev libhdf5-dev libpango1.0-dev libsqlitecpp-dev libtomlplusplus-dev
  libudunits2-dev libxsimd-dev nlohmann-json3-dev zlib1g-dev
  fonts-dejavu-extra
)
test_packages=(
  clang-14 clang-format-14 clang-tidy-14 e2fsprogs hdf5-tools
  libbenchmark-dev libgsl-dev libgtest-dev libopenmpi-dev libsundials-dev
  munge openmpi-bin poppler-utils slurm-client slurmctld slurmd
  python3 python3-h5py python3-h5netcdf python3-matplotlib python3-netcdf4 python3-scipy python3-xarray
  netcdf-bin nco octave octave-netcdf r-cran-ncdf4 strace 'npm|nodejs'
  clang-NN lld-NN libc++-NN-dev-wasm32 libclang-rt-NN-dev-wasm32 chromium esbuild musl-dev wasi-libc
)
page_packages=(clang-NN lld-NN libc++-NN-dev-wasm32 libclang-rt-NN-dev-wasm32 wasi-libc 'npm|nodejs')

jobs=$(nproc)

# Each library is compiled as one file: half the time goes into headers, which its sources share.
as_few_files=(-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=0)

installed() {
  [[ $(dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null) == installed ]]
}

# The newest clang, of those that will do, whose C++ library for WebAssembly is installed, or else
# known to apt; nothing: none.
wasm_clang() {
  local of_wasm='s/^libc\+\+-([0-9]+)-dev-wasm32$/\1/p' installed known
  installed=$(dpkg-query -W -f '${db:Status-Abbrev}${Package}\n' 'libc++-*-dev-wasm32' 2>/dev/null || true)
  known=$(apt-cache pkgnames libc++- 2>/dev/null || true)
  newest() { sed -nE "$of_wasm" | awk '$1 >= 20' | sort -n | tail -1; }
  sed -n 's/^ii *//p' <<<"$installed" | newest | grep . || newest <<<"$known"
}

# step LOG TEXT COMMAND...: says TEXT, runs the command with its output in LOG, and shows that
# output where the command fails.
step() {
  local log=$1 text=$2 start=$SECONDS
  shift 2
  mkdir -p "$(dirname "$log")"
  echo "$text ..."
  if "$@" >"$log" 2>&1; then
    echo "  done in $((SECONDS - start)) s"
    return 0
  fi
  cat "$log" >&2
  echo "  failed: $* (log: $log)" >&2
  return 1
}

# install_packages PACKAGE...: asks dpkg, and calls apt only for what is missing.
install_packages() {
  if ! command -v dpkg-query >/dev/null; then
    echo "This is no Debian: nothing is installed. What Debian calls: $*"
    return 0
  fi
  local wanted choice choices missing=() unnumbered=() as_root=(env)
  local number
  number=$(wasm_clang)
  for wanted in "$@"; do
    if [[ $wanted == *NN* ]]; then
      if [[ -z $number ]]; then
        unnumbered+=("$wanted")
        continue
      fi
      wanted=${wanted/NN/$number}
    fi
    IFS='|' read -ra choices <<<"$wanted"
    for choice in "${choices[@]}"; do
      installed "$choice" && continue 2
    done
    missing+=("${choices[0]}")
  done
  if ((${#missing[@]} + ${#unnumbered[@]} == 0)); then
    echo "Every Debian package is installed."
    return 0
  fi
  echo "Missing Debian packages: ${missing[*]} ${unnumbered[*]}"
  if ((EUID != 0)); then
    if ! command -v sudo >/dev/null; then
      # What has no number yet may not be there at all: what needs it says so.
      ((${#missing[@]} > 0)) || return 0
      echo "Neither root nor sudo here. As root: apt-get install ${missing[*]}" >&2
      return 1
    fi
    as_root=(sudo env)
  fi
  local apt=("${as_root[@]}" DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=300)
  # A list that cannot be read need not be one that matters: whether it does, install will say.
  step build/log/apt-update.txt "Reading Debian's package lists" "${apt[@]}" update || true
  # Whatever number they have is known now, or there are none: what needs them says so.
  number=$(wasm_clang)
  if [[ -n $number ]]; then missing+=("${unnumbered[@]/NN/$number}"); fi
  ((${#missing[@]} > 0)) || return 0
  # --no-remove: what the machine already has stays.
  step build/log/apt-install.txt "Installing ${#missing[@]} packages and what they need" \
    "${apt[@]}" install -y --no-remove --no-install-recommends "${missing[@]}"
}
