# The target page: build/page/page.html, by node from tools/page and the module that page_model makes.
# It is put together in build/page/work, so that nothing that npm fetches lies among the sources.

find_program(PLUNGE_NODE node)
find_program(PLUNGE_NPM npm)
mark_as_advanced(PLUNGE_NODE PLUNGE_NPM)

set(page_folder ${PROJECT_BINARY_DIR}/page)
set(page_work ${page_folder}/work)
if(PLUNGE_NODE AND PLUNGE_NPM)
  # What npm has fetched stays until the list of it changes.
  add_custom_command(
    OUTPUT ${page_work}/fetched VERBATIM
    COMMAND ${CMAKE_COMMAND} -E make_directory ${page_work}
    COMMAND ${CMAKE_COMMAND} -E copy ${PROJECT_SOURCE_DIR}/tools/page/package.json
            ${PROJECT_SOURCE_DIR}/tools/page/package-lock.json ${page_work}
    COMMAND ${CMAKE_COMMAND} -E chdir ${page_work} ${PLUNGE_NPM} ci --no-audit --no-fund --ignore-scripts
    COMMAND ${CMAKE_COMMAND} -E touch ${page_work}/fetched
    DEPENDS tools/page/package.json tools/page/package-lock.json)
  add_custom_target(
    page VERBATIM USES_TERMINAL
    COMMAND ${CMAKE_COMMAND} -E rm -rf ${page_work}/src
    COMMAND ${CMAKE_COMMAND} -E copy_directory ${PROJECT_SOURCE_DIR}/tools/page/src ${page_work}/src
    COMMAND ${CMAKE_COMMAND} -E copy ${PROJECT_SOURCE_DIR}/tools/page/build.mjs
            ${PROJECT_SOURCE_DIR}/tools/page/tsconfig.json ${page_work}
    COMMAND ${CMAKE_COMMAND} -E chdir ${page_work} ${PLUNGE_NODE} node_modules/typescript/bin/tsc --noEmit -p .
    COMMAND ${PLUNGE_NODE} ${page_work}/build.mjs ${page_folder}/model.wasm ${PROJECT_SOURCE_DIR}/LICENSE
            ${page_folder}/page.html
    DEPENDS ${page_work}/fetched)
  if(TARGET page_model)
    add_dependencies(page page_model)
  endif()
else()
  # The target is there and says what is missing.
  add_custom_target(page VERBATIM COMMAND ${CMAKE_COMMAND} -E echo
                    "page: node and npm are missing (on Debian: apt-get install npm)"
                    COMMAND ${CMAKE_COMMAND} -E false)
endif()
