# What every target of ours shares: language level, warnings, sanitizers.
add_library(stonecall_options INTERFACE)
target_compile_features(stonecall_options INTERFACE cxx_std_20)
target_include_directories(stonecall_options INTERFACE ${PROJECT_SOURCE_DIR})
if(STONECALL_STRICT)
  target_compile_options(stonecall_options INTERFACE
    $<$<COMPILE_LANGUAGE:CXX>:-Wall -Wextra -Wconversion -Werror>)
endif()
if(CMAKE_UNITY_BUILD AND CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # Several files read as one are headers to GCC, and in a header it warns of members hidden in a file.
  target_compile_options(stonecall_options INTERFACE $<$<COMPILE_LANGUAGE:CXX>:-Wno-subobject-linkage>)
  # A tenth of the time went into looking for memory to give back, of which there is enough.
  target_compile_options(stonecall_options INTERFACE $<$<COMPILE_LANGUAGE:CXX>:--param=ggc-min-heapsize=2000000>)
endif()
if(STONECALL_SANITIZE)
  target_compile_options(stonecall_options INTERFACE
    $<$<COMPILE_LANGUAGE:C,CXX>:-fsanitize=${STONECALL_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all>)
  target_link_options(stonecall_options INTERFACE -fsanitize=${STONECALL_SANITIZE})
endif()

function(stonecall_compile_apart)
  if(ARGN)
    set_source_files_properties(${ARGN} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
  endif()
endfunction()

# stonecall_library(NAME SOURCES … USES …): a static library with the alias stonecall::NAME.
# Includes are written from the top of the tree ("protocol/event.hpp"); what a folder may
# include is what it lists under USES, so a wrong arrow fails to link.
# Headers that nearly every file of a library sees are read once: PRECOMPILES lists them, or
# PRECOMPILED_BY names the library whose precompiled headers serve this one too.
# The `release` preset compiles a few files of a target as one; APART lists those whose hidden names
# other files have too.
function(stonecall_library name)
  cmake_parse_arguments(ARG "" "PRECOMPILED_BY" "SOURCES;USES;PRIVATE_USES;PRECOMPILES;APART" ${ARGN})
  add_library(stonecall_${name} STATIC ${ARG_SOURCES})
  add_library(stonecall::${name} ALIAS stonecall_${name})
  target_link_libraries(stonecall_${name}
    PUBLIC stonecall_options ${ARG_USES}
    PRIVATE ${ARG_PRIVATE_USES})
  stonecall_compile_apart(${ARG_APART})
  if(ARG_PRECOMPILES)
    target_precompile_headers(stonecall_${name} PRIVATE ${ARG_PRECOMPILES})
  elseif(ARG_PRECOMPILED_BY)
    target_precompile_headers(stonecall_${name} REUSE_FROM stonecall_${ARG_PRECOMPILED_BY})
  endif()
endfunction()

# stonecall_tests(FOLDER SOURCES … USES …): one Catch2 program for a folder, each case a CTest test.
function(stonecall_tests name)
  cmake_parse_arguments(ARG "" "PRECOMPILED_BY" "SOURCES;USES;ENVIRONMENT;APART" ${ARGN})
  add_executable(test_${name} ${ARG_SOURCES})
  target_link_libraries(test_${name} PRIVATE stonecall_options stonecall_test_main ${ARG_USES})
  # A test runs once; what it tests is optimised as ever.
  target_compile_options(test_${name} PRIVATE $<$<CONFIG:Release>:-O1>)
  stonecall_compile_apart(${ARG_APART})
  if(NOT ARG_PRECOMPILED_BY)
    set(ARG_PRECOMPILED_BY test_headers)
  endif()
  target_precompile_headers(test_${name} REUSE_FROM stonecall_${ARG_PRECOMPILED_BY})
  # Sanitizers slow down some of them tenfold.
  set(seconds 120)
  if(STONECALL_SANITIZE)
    set(seconds 900)
  endif()
  catch_discover_tests(test_${name} TEST_PREFIX "${name}: "
    PROPERTIES TIMEOUT ${seconds} ENVIRONMENT "${ARG_ENVIRONMENT}")
endfunction()
