# What tools/demo and tools/check share: the packages, and steps that are quiet unless they fail.
# Sourced, not run. On return the working directory is the repository's root.

CDPATH='' cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.."

# Where several packages serve, they stand as first|second and any of them will do.
build_packages=(
  g++ cmake ninja-build pkg-config
  libboost-dev libceres-dev libcli11-dev libeigen3-dev libfmt-dev libhdf5-dev libpango1.0-dev libsqlitecpp-dev libtomlplusplus-dev
  libudunits2-dev libxsimd-dev nlohmann-json3-dev zlib1g-dev
  fonts-dejavu-extra 'gnuplot-nox|gnuplot-qt|gnuplot-x11'
)
test_packages=(
  clang-14 clang-format-14 clang-tidy-14 e2fsprogs hdf5-tools
  libbenchmark-dev libgsl-dev libgtest-dev libopenmpi-dev libsundials-dev
  munge openmpi-bin poppler-utils slurm-client slurmctld slurmd
  python3 python3-h5py python3-h5netcdf python3-matplotlib python3-netcdf4 python3-scipy python3-xarray
  netcdf-bin nco octave octave-netcdf r-cran-ncdf4 strace 'npm|nodejs'
)

# find_page_packages: sets page_packages, what the learning page needs to be built. Of the clangs with a
# C++ library for WebAssembly Debian's newest is taken: the number moves with its security updates.
find_page_packages() {
  local newest
  newest=$(apt-cache search --names-only '^libc[+][+]-[0-9]+-dev-wasm32$' 2>/dev/null |
    sed -E 's/^libc[+][+]-([0-9]+)-.*/\1/' | sort -n | tail -n 1)
  page_packages=("clang-${newest:=22}" "lld-$newest" "libc++-$newest-dev-wasm32" "libclang-rt-$newest-dev-wasm32" wasi-libc 'npm|nodejs')
}

jobs=$(nproc)

# Each library is compiled as one file: half the time goes into headers, which its sources share.
as_few_files=(-DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=0)

installed() {
  [[ $(dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null) == installed ]]
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
  local wanted choice choices missing=() as_root=(env)
  for wanted in "$@"; do
    IFS='|' read -ra choices <<<"$wanted"
    for choice in "${choices[@]}"; do
      installed "$choice" && continue 2
    done
    missing+=("${choices[0]}")
  done
  if ((${#missing[@]} == 0)); then
    echo "Every Debian package is installed."
    return 0
  fi
  echo "Missing Debian packages: ${missing[*]}"
  if ((EUID != 0)); then
    if ! command -v sudo >/dev/null; then
      echo "Neither root nor sudo here. As root: apt-get install ${missing[*]}" >&2
      return 1
    fi
    as_root=(sudo env)
  fi
  local apt=("${as_root[@]}" DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=300)
  # A list that cannot be read need not be one that matters: whether it does, install will say.
  step build/log/apt-update.txt "Reading Debian's package lists" "${apt[@]}" update || true
  # --no-remove: what the machine already has stays.
  step build/log/apt-install.txt "Installing ${#missing[@]} packages and what they need" \
    "${apt[@]}" install -y --no-remove --no-install-recommends "${missing[@]}"
}
