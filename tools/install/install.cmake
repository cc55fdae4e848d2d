# What cmake --install puts where. Nothing here is needed to build or test.
#
#   bin/                  plunge, plunge_mpi
#   share/man/man1/       their manual pages, written from their command lines
#   share/{bash-completion/completions,zsh/site-functions,fish/vendor_completions.d}/
#   share/plunge/         sweep.sbatch; scenarios/: the examples, with the pages of the formats; page.html: the
#                         learning page, where it was built
#   share/doc/plunge/     README.md, LICENSE
#   include/plunge/, lib/ the library, with lib/cmake/plunge/ for find_package(plunge)

include(GNUInstallDirs)
include(CMakePackageConfigHelpers)

# ---- programs ----

install(TARGETS plunge RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
if(TARGET plunge_mpi)
  install(TARGETS plunge_mpi RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
endif()
install(PROGRAMS tools/sweep.sbatch DESTINATION ${CMAKE_INSTALL_DATADIR}/plunge)
install(DIRECTORY scenarios DESTINATION ${CMAKE_INSTALL_DATADIR}/plunge)
install(FILES README.md LICENSE DESTINATION ${CMAKE_INSTALL_DOCDIR})
# The learning page where it was built (target page): plunge page finds it there.
install(FILES ${PROJECT_BINARY_DIR}/page/page.html DESTINATION ${CMAKE_INSTALL_DATADIR}/plunge OPTIONAL)

# ---- manual pages and completions ----

add_executable(plunge_manual tools/install/manual.cpp)
target_link_libraries(plunge_manual PRIVATE ${rooms} fmt::fmt CLI11::CLI11)
set(manual ${PROJECT_BINARY_DIR}/manual)
set(manual_files)
# write_manual(WHAT FILE FOLDER): what plunge_manual writes, as a file to install.
function(write_manual what file folder)
  add_custom_command(OUTPUT ${manual}/${what}/${file}
                     COMMAND ${CMAKE_COMMAND} -E make_directory ${manual}/${what}
                     COMMAND plunge_manual ${what} > ${manual}/${what}/${file}
                     DEPENDS plunge_manual VERBATIM)
  install(FILES ${manual}/${what}/${file} DESTINATION ${folder})
  list(APPEND manual_files ${manual}/${what}/${file})
  set(manual_files ${manual_files} PARENT_SCOPE)
endfunction()
write_manual(plunge.1 plunge.1 ${CMAKE_INSTALL_MANDIR}/man1)
if(TARGET plunge_mpi)
  write_manual(plunge_mpi.1 plunge_mpi.1 ${CMAKE_INSTALL_MANDIR}/man1)
endif()
write_manual(bash plunge ${CMAKE_INSTALL_DATADIR}/bash-completion/completions)
write_manual(zsh _plunge ${CMAKE_INSTALL_DATADIR}/zsh/site-functions)
write_manual(fish plunge.fish ${CMAKE_INSTALL_DATADIR}/fish/vendor_completions.d)
add_custom_target(plunge_manual_files ALL DEPENDS ${manual_files})

# ---- the library ----

# All rooms but the command line: load → ready → ride → labelled result.
add_library(plunge_library INTERFACE)
target_link_libraries(plunge_library INTERFACE ${library_rooms})
set_target_properties(plunge_library PROPERTIES EXPORT_NAME plunge)
foreach(room ${library_rooms})
  string(REGEX REPLACE "^plunge_" "" name ${room})
  set_target_properties(${room} PROPERTIES EXPORT_NAME ${name})
endforeach()
install(TARGETS plunge_library ${library_rooms} EXPORT plunge-targets
        ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR} LIBRARY DESTINATION ${CMAKE_INSTALL_LIBDIR})
set(headers ${CMAKE_INSTALL_INCLUDEDIR}/plunge)
install(DIRECTORY models sim DESTINATION ${headers} FILES_MATCHING PATTERN "*.hpp"
        PATTERN "lane_pack.hpp" EXCLUDE PATTERN "lane_runner.hpp" EXCLUDE)
install(FILES ${PROJECT_BINARY_DIR}/generated/sim/text/version.hpp
        DESTINATION ${headers}/sim/text)

set(package ${CMAKE_INSTALL_LIBDIR}/cmake/plunge)
install(EXPORT plunge-targets NAMESPACE plunge:: DESTINATION ${package})
configure_package_config_file(tools/install/plunge-config.cmake.in
                              ${PROJECT_BINARY_DIR}/generated/plunge-config.cmake
                              INSTALL_DESTINATION ${package})
write_basic_package_version_file(${PROJECT_BINARY_DIR}/generated/plunge-config-version.cmake
                                 COMPATIBILITY SameMinorVersion)
install(FILES ${PROJECT_BINARY_DIR}/generated/plunge-config.cmake
              ${PROJECT_BINARY_DIR}/generated/plunge-config-version.cmake
              tools/install/udunits2.cmake
        DESTINATION ${package})
