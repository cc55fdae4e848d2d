# The target page_model: build/page/model.wasm, by clang for WebAssembly where Debian's packages of it
# are installed. The newest clang-NN whose C++ library for wasm32 is there is taken: the number moves.

set(page_model_packages "clang-NN lld-NN libc++-NN-dev-wasm32 libclang-rt-NN-dev-wasm32 wasi-libc")
set(page_model_oldest 20)  # its C++ library reads doubles (std::from_chars)
set(page_model_missing "no clang for WebAssembly. On Debian, NN the same number, ${page_model_oldest} or more: \
apt-get install ${page_model_packages}")

file(GLOB page_model_libraries /usr/lib/llvm-*/lib/wasm32-wasi/libc++.a)
list(SORT page_model_libraries COMPARE NATURAL ORDER DESCENDING)
set(page_model_llvm)
foreach(library ${page_model_libraries})
  string(REGEX MATCH "^(/usr/lib/llvm-([0-9]+))/" found ${library})
  set(folder ${CMAKE_MATCH_1})
  set(number ${CMAKE_MATCH_2})
  file(GLOB builtins ${folder}/lib/clang/*/lib/wasi/libclang_rt.builtins-wasm32.a)
  if(number GREATER_EQUAL page_model_oldest AND EXISTS ${folder}/bin/clang++ AND EXISTS ${folder}/bin/wasm-ld
     AND builtins AND EXISTS /usr/lib/wasm32-wasi/libc.a)
    set(page_model_llvm ${folder})
    break()
  endif()
endforeach()

if(page_model_llvm)
  set(page_model_build ${PROJECT_BINARY_DIR}/page/model)
  add_custom_target(
    page_model VERBATIM USES_TERMINAL
    COMMAND ${CMAKE_COMMAND} -S ${PROJECT_SOURCE_DIR}/tools/page/model -B ${page_model_build}
            -G ${CMAKE_GENERATOR} --log-level=WARNING -DCMAKE_BUILD_TYPE=Release
            -DCMAKE_TOOLCHAIN_FILE=${PROJECT_SOURCE_DIR}/tools/page/model/wasm32.cmake
            -DPLUNGE_LLVM=${page_model_llvm} -DPLUNGE_VERSION=${PROJECT_VERSION}
            -DPLUNGE_WERROR=${PLUNGE_WERROR} -DPLUNGE_OUTPUT=${PROJECT_BINARY_DIR}/page
            -DCMAKE_CXX_COMPILER_LAUNCHER=${CMAKE_CXX_COMPILER_LAUNCHER}
            -DCMAKE_UNITY_BUILD=${CMAKE_UNITY_BUILD} -DCMAKE_UNITY_BUILD_BATCH_SIZE=0
    COMMAND ${CMAKE_COMMAND} --build ${page_model_build})
else()
  # The target is there and says what is missing.
  add_custom_target(page_model VERBATIM COMMAND ${CMAKE_COMMAND} -E echo "page_model: ${page_model_missing}"
                    COMMAND ${CMAKE_COMMAND} -E false)
endif()

# The same door as a program of this machine, for tests to hold the module against. Its mathematical
# functions are musl's, which are those of wasi-libc: with them the numbers are the same bits.
set(musl_library /usr/lib/x86_64-linux-musl/libc.a)  # of Debian's musl-dev
if(with_tests AND NOT PLUNGE_SANITIZE)
  add_library(page_door_model OBJECT EXCLUDE_FROM_ALL tools/page/model/door.cpp
                                               tools/page/model/figure_question.cpp)
  add_library(page_door_program OBJECT EXCLUDE_FROM_ALL tests/tools/page/door_program.cpp
                                                        tests/tools/page/musl_angles.cpp)
  foreach(part page_door_model page_door_program)
    target_link_libraries(${part} PRIVATE ${rooms} fmt::fmt nlohmann_json::nlohmann_json)
  endforeach()
endif()
if(TARGET page_door_model AND EXISTS ${musl_library})
  set(door_folder ${PROJECT_BINARY_DIR}/page/door)
  file(MAKE_DIRECTORY ${door_folder})
  set(functions acos acosh asin asinh atan atan2 atanh cabs carg cexp clog csqrt __cexp cbrt cos cosh erf exp
      exp10 exp2 exp_data expm1 fmod hypot lgamma lgamma_r log log10 log1p log2 log2_data log_data pow pow_data
      signgam sin sincos sinh tan tanh tgamma __cos __expo2 __math_divzero __math_invalid __math_oflow
      __math_uflow __math_xflow __rem_pio2_large __sin __tan)
  list(TRANSFORM functions APPEND .lo)
  add_custom_command(
    OUTPUT ${door_folder}/libmusl_math.a WORKING_DIRECTORY ${door_folder} VERBATIM
    COMMAND ${CMAKE_COMMAND} -E rm -f libmusl_math.a
    COMMAND ${CMAKE_AR} x ${musl_library} ${functions}
    COMMAND ${CMAKE_AR} rcs libmusl_math.a ${functions}
    COMMAND ${CMAKE_COMMAND} -E rm ${functions}
    DEPENDS ${musl_library} ${CMAKE_CURRENT_LIST_FILE})
  file(GLOB shipped CONFIGURE_DEPENDS scenarios/*/*)
  add_custom_command(
    OUTPUT ${door_folder}/shipped.cpp VERBATIM
    COMMAND ${CMAKE_COMMAND} -DSOURCE=${PROJECT_SOURCE_DIR} -DOUTPUT=${door_folder}/shipped.cpp
            -P ${PROJECT_SOURCE_DIR}/tools/page/model/shipped.cmake
    DEPENDS tools/page/model/shipped.cmake ${shipped})
  add_executable(page_door ${door_folder}/shipped.cpp ${door_folder}/libmusl_math.a
                           $<TARGET_OBJECTS:page_door_model> $<TARGET_OBJECTS:page_door_program>)
  target_link_libraries(page_door PRIVATE ${rooms} fmt::fmt ${door_folder}/libmusl_math.a)
endif()
