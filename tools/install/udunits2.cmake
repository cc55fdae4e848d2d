# The target udunits2, where the library is there: it brings neither a CMake nor a pkg-config file.
find_path(UDUNITS2_INCLUDE_DIR udunits2.h PATH_SUFFIXES udunits2)
find_library(UDUNITS2_LIBRARY udunits2)
if(UDUNITS2_INCLUDE_DIR AND UDUNITS2_LIBRARY AND NOT TARGET udunits2)
  add_library(udunits2 UNKNOWN IMPORTED)
  set_target_properties(udunits2 PROPERTIES IMPORTED_LOCATION ${UDUNITS2_LIBRARY}
                                            INTERFACE_INCLUDE_DIRECTORIES ${UDUNITS2_INCLUDE_DIR})
endif()
