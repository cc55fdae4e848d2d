% Variables of a file as Octave reads them by name, for tests/outside/readers_test.py, in the manner of
% read.R. At the root its netcdf package reads numbers, units and long names, and Octave itself the same
% numbers; of groups Octave itself reads those that hold no text.
% Octave reads no text of variable length, and asked for no names it stops at the first.
pkg load netcdf
arguments = argv();
file = arguments{1};
names = arguments(2:end);
first = cellfun(@(name) strsplit(name, "/"){1}, names, "UniformOutput", false);
tops = unique(first);
loaded = load("-hdf5", file, tops{:});
for i = 1:numel(names)
  name = names{i};
  said = {char(2), char(2)};
  words = {"units", "long_name"};
  if any(name == "/")
    numbers = double(loaded.(first{i}).(strsplit(name, "/"){2}));
  else
    numbers = double(ncread(file, name));
    own = double(loaded.(name));
    if !isequaln(own(:), numbers(:))
      error("%s: the package reads other numbers than Octave", name);
    end
    for k = 1:2
      try
        said{k} = strrep(ncreadatt(file, name, words{k}), "\0", "");
      catch
      end
    end
  end
  values = arrayfun(@(x) sprintf("%.17g", x), numbers(:)', "UniformOutput", false);
  printf("%s%c%s%c%s%c%s%c", name, 31, said{1}, 31, said{2}, 31, strjoin(values, char(30)), 29);
end
