# Writes build_facts.hpp: what the numbers of a sweep depend on beside its plan.
#
#   cmake -DROOT=... -DOUTPUT=... -DCOMPILER=... -DOPTIONS=... -DLANES=... -DLIBRARIES=...
#         -P tools/install/build_facts.cmake
#
# Run at every build; the header changes only where a fact does. Paths of this machine and warnings
# are left out, so that the same sources give the same text wherever they are built.

cmake_minimum_required(VERSION 3.25)

# The rooms that work numbers out; those of files and reports are not among them.
set(rooms models/laws models/setup sim/text sim/numerics sim/ground sim/measure sim/input sim/ride
          sim/lanes sim/sweep)
set(digests "")
foreach(room ${rooms})
  file(GLOB names RELATIVE ${ROOT} ${ROOT}/${room}/*.cpp ${ROOT}/${room}/*.hpp
       ${ROOT}/${room}/*.in)
  list(SORT names)
  foreach(name ${names})
    file(SHA256 ${ROOT}/${name} digest)
    string(APPEND digests "${name} ${digest}\n")
  endforeach()
endforeach()
string(SHA256 sources "${digests}")
string(SUBSTRING ${sources} 0 16 sources)

# plain(VARIABLE): without warnings, paths of this machine and double blanks.
function(plain variable)
  string(REGEX REPLACE "[; ]+" ";" words "${${variable}}")
  list(FILTER words EXCLUDE REGEX "^-W|^$|prefix-map|^-f?diagnostics|^-fdiagnostics")
  list(FILTER words EXCLUDE REGEX "/")
  list(REMOVE_DUPLICATES words)
  list(JOIN words " " words)
  string(REPLACE "\\" "" words "${words}")
  string(REPLACE "\"" "'" words "${words}")
  set(${variable} "${words}" PARENT_SCOPE)
endfunction()
plain(OPTIONS)
plain(LANES)
set(compiler "${COMPILER}")
set(options "${OPTIONS}, lanes ${LANES}, ${LIBRARIES}")
configure_file(${ROOT}/sim/sweep/build_facts.hpp.in ${OUTPUT} @ONLY)
