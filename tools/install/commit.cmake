# Run at each build, as `cmake -DSOURCE=... -DOUTPUT=... -P commit.cmake`: writes the commit of the
# tree into a header, which stays untouched where nothing changed. A tree that is no repository of
# its own (from an archive, or copied into another's) has "unknown".
set(commit unknown)
find_program(git git)
if(git AND EXISTS ${SOURCE}/.git)
  execute_process(COMMAND ${git} -C ${SOURCE} describe --always --dirty
                  OUTPUT_VARIABLE described RESULT_VARIABLE failed ERROR_QUIET
                  OUTPUT_STRIP_TRAILING_WHITESPACE)
  if(NOT failed AND described MATCHES "^[A-Za-z0-9._/+-]+$")
    set(commit ${described})
  endif()
endif()
configure_file(${SOURCE}/sim/text/build_commit.hpp.in ${OUTPUT} @ONLY)
